"""Several overlapping peaks, fitted with shapes that mean something: diffusing species, or bound layers."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from halfcell.constants import STANDARD_TEMPERATURE, thermal_voltage
from halfcell.errors import MethodError
from halfcell.results import Measured, read_only
from halfcell.signals.noise import effective_size, first_autocorrelation
from halfcell.voltammetry import shapes

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from halfcell.results import FloatArray

Shape = Literal["diffusion", "bound layer"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Component:
    """One peak: ``potential`` of its maximum V, ``height`` A (signed), ``width`` its stretch in RT/F (1/n when ideal),
    ``half_width`` |E_p - E_p/2| V. ``at_bound`` names a parameter that ran into its limit."""

    potential: Measured
    height: Measured
    width: Measured
    half_width: Measured
    at_bound: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Overlapping:
    """The components in scan order, their sum and the straight background on ``potential`` (n,).

    ``misfit`` is the residual standard deviation (A), ``correlation`` its lag-one correlation, ``bic``
    for comparing numbers of peaks, ``tried`` the BIC of each number tried, from one peak on.
    """

    components: tuple[Component, ...]
    shape: str
    potential: FloatArray
    current: FloatArray
    curve: FloatArray
    background: FloatArray
    parts: tuple[FloatArray, ...]
    misfit: float
    correlation: float
    bic: float
    tried: tuple[float, ...]
    converged: bool

    def plot(self, ax: Any) -> None:
        """Data, sum, and each component on the background."""
        ax.plot(self.potential, self.current, ".", color="0.6", ms=2)
        ax.plot(self.potential, self.curve, color="k", lw=1.2)
        for part in self.parts:
            ax.plot(self.potential, self.background + part, lw=0.9)
        ax.set_xlabel("E / V")
        ax.set_ylabel("I / A")


def fit_overlapping(
    potential: ArrayLike,
    current: ArrayLike,
    *,
    sign: int = 1,
    count: int | None = None,
    near: Sequence[float] | None = None,
    shape: Shape = "diffusion",
    most: int = 3,
    temperature: float = STANDARD_TEMPERATURE,
) -> Overlapping:
    """Fit a number of peaks of one shape on a straight background.

    Parameters
    ----------
    potential, current : (n,) arrays in scan order, V and A
    sign : int
        +1 for oxidations, -1 for reductions.
    count : int, optional
        Number of peaks; else the number with the lowest BIC, up to ``most``.
    near : potentials, optional
        Where the peaks are about; also sets their number.
    shape : str
        "diffusion": the reversible current function stretched along the potential, with its tail, so that a
        second peak stands on the first one's tail as it does in truth; "bound layer": sech².

    Raises
    ------
    MethodError
        Fewer than 20 samples a peak, or no fit that converges.

    Notes
    -----
    Least squares (scipy) from the largest residual on; covariances inflated by (1 + r)/(1 - r) for the
    residuals' lag-one correlation r. Common practice, no source. Independent species add; consecutive steps of one species do
    not follow this sum exactly.
    """
    e, y = np.asarray(potential, float), sign * np.asarray(current, float)
    good = np.isfinite(e) & np.isfinite(y)
    e, y = e[good], y[good]
    if near is not None:
        count = len(near)
    if e.size < 20 * (count or 1):
        raise MethodError(
            f"Fitting {count or 1} peaks needs at least {20 * (count or 1)} samples; there are {e.size}."
        )
    fits: list[_Fit] = []
    for k in range(1, (count or most) + 1):
        start = list(near)[:k] if near is not None else None
        fits.append(_fit(e, y, k, start, fits[-1] if fits else None, shape, temperature))
    # One effective number of samples for all, or their BIC could not be compared.
    n = max(effective_size(float(e.size), min(f.correlation for f in fits)), 10.0)
    bic = tuple(n * math.log(max(f.misfit / f.scale, 1e-15) ** 2) + f.x.size * math.log(n) for f in fits)
    wanted = count - 1 if count is not None else int(np.argmin(bic))
    return _result(fits[wanted], e, y, sign, shape, temperature, bic)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Fit:
    x: NDArray[np.float64]
    covariance: NDArray[np.float64]
    misfit: float
    correlation: float
    converged: bool
    bounds: tuple[NDArray[np.float64], NDArray[np.float64]]
    scale: float


def _unit(shape: Shape, xi: NDArray[np.float64]) -> NDArray[np.float64]:
    if shape == "diffusion":
        return np.asarray(shapes.reversible(xi + shapes.REVERSIBLE_PEAK_AT) / shapes.REVERSIBLE_PEAK, float)
    return np.asarray(4 * shapes.bound_layer(xi), float)


def _parts(p: NDArray[np.float64], z: NDArray[np.float64], shape: Shape) -> NDArray[np.float64]:
    """(k, n) heights times unit peaks; parameters are offset, slope, then (place, ln width, height) each."""
    return np.array([h * _unit(shape, (z - at) / math.exp(w)) for at, w, h in p[2:].reshape(-1, 3)])


def _fit(
    e: NDArray[np.float64],
    y: NDArray[np.float64],
    k: int,
    near: list[float] | None,
    before: _Fit | None,
    shape: Shape,
    temperature: float,
) -> _Fit:
    from scipy.optimize import least_squares

    unit = thermal_voltage(temperature) * (1 if e[-1] > e[0] else -1)
    z = (e - e[0]) / unit
    scale = float(np.ptp(y)) or 1.0
    v = y / scale
    if near is not None:
        start = [float(v[:5].mean()), 0.0]
        for at in near:
            start += [
                (at - e[0]) / unit,
                0.3,
                max(float(np.interp((at - e[0]) / unit, z, v) - v.min()), 0.05),
            ]
        starts = [start]
    else:
        starts = _starts(z, v, before, shape)
    low = np.array([-np.inf, -np.inf] + [0.0, math.log(0.25), 0.0] * k)
    high = np.array([np.inf, np.inf] + [float(z[-1]), math.log(6.0), 5.0] * k)
    best: Any = None
    for begin in starts:
        found = least_squares(
            _residual,
            np.clip(begin, low + 1e-9, high - 1e-9),
            args=(z, v, shape),
            bounds=(low, high),
            max_nfev=200,
        )
        if best is None or found.cost < best.cost:
            best = found
    rho = min(max(first_autocorrelation(best.fun), 0.0), 0.97)
    s2 = float(best.fun @ best.fun) / max(v.size - best.x.size, 1)
    covariance = np.linalg.pinv(best.jac.T @ best.jac) * s2 * (1 + rho) / (1 - rho)
    return _Fit(
        x=best.x,
        covariance=covariance,
        misfit=math.sqrt(s2) * scale,
        correlation=rho,
        converged=bool(best.success),
        bounds=(low, high),
        scale=scale,
    )


def _residual(
    p: NDArray[np.float64], z: NDArray[np.float64], v: NDArray[np.float64], shape: Shape
) -> NDArray[np.float64]:
    return np.asarray(p[0] + p[1] * z / z[-1] + _parts(p, z, shape).sum(0) - v, float)


def _starts(
    z: NDArray[np.float64], v: NDArray[np.float64], before: _Fit | None, shape: Shape
) -> list[list[float]]:
    if before is None:
        top = int(np.argmax(v))
        return [[float(v[:5].mean()), 0.0, float(z[top]), w, float(np.ptp(v))] for w in (0.0, 0.7)]
    rest = v - before.x[0] - before.x[1] * z / z[-1] - _parts(before.x, z, shape).sum(0)
    there = float(z[int(np.argmax(np.convolve(rest, np.ones(7) / 7, mode="same")))])
    last = before.x[2:].reshape(-1, 3)[-1]
    first = [*before.x, there, 0.2, 0.3]
    # The first fit may sit between two peaks: begin with them on its two sides as well.
    aside = [*before.x[:-3], last[0] - 2.0, 0.0, last[2] * 0.7, last[0] + 2.5, 0.0, last[2] * 0.6]
    return [first, aside]


def _result(
    fit: _Fit,
    e: NDArray[np.float64],
    y: NDArray[np.float64],
    sign: int,
    shape: Shape,
    temperature: float,
    tried: tuple[float, ...],
) -> Overlapping:
    unit = thermal_voltage(temperature) * (1 if e[-1] > e[0] else -1)
    z = (e - e[0]) / unit
    u = np.sqrt(np.maximum(np.diag(fit.covariance), 0.0))
    parts = _parts(fit.x, z, shape) * fit.scale
    half = shapes.REVERSIBLE_HALF_WIDTH if shape == "diffusion" else shapes.BOUND_WIDTH / 2
    found = []
    for k, (at, width, height) in enumerate(fit.x[2:].reshape(-1, 3)):
        ua, uw, uh = u[2 + 3 * k : 5 + 3 * k]
        stretch = Measured(value=math.exp(width), u=math.exp(width) * float(uw))
        near = [
            n
            for n, place in zip(("potential", "width", "height"), range(2 + 3 * k, 5 + 3 * k), strict=True)
            if _at_bound(fit, place)
        ]
        found.append(
            Component(
                potential=Measured(value=float(e[0] + at * unit), u=float(ua) * abs(unit)),
                height=Measured(value=sign * float(height) * fit.scale, u=float(uh) * fit.scale),
                width=stretch,
                half_width=stretch.times(half * abs(unit)),
                at_bound=", ".join(near),
            )
        )
    order = sorted(range(len(found)), key=lambda k: (found[k].potential.value - float(e[0])) / unit)
    background = (fit.x[0] + fit.x[1] * z / z[-1]) * fit.scale
    return Overlapping(
        components=tuple(found[j] for j in order),
        shape=shape,
        potential=read_only(e),
        current=read_only(sign * y),
        curve=read_only(sign * (background + parts.sum(0))),
        background=read_only(sign * background),
        parts=tuple(read_only(sign * parts[j]) for j in order),
        misfit=fit.misfit,
        correlation=fit.correlation,
        bic=tried[(fit.x.size - 2) // 3 - 1],
        tried=tried,
        converged=fit.converged,
    )


def _at_bound(fit: _Fit, j: int) -> bool:
    low, high = fit.bounds[0][j], fit.bounds[1][j]
    return bool(min(fit.x[j] - low, high - fit.x[j]) < 1e-4 * (high - low))
