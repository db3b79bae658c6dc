"""Deposition transients: nuclei formed at once or all the while, beside charging and background."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.constants import FARADAY
from halfcell.errors import MethodError
from halfcell.results import Measured, read_only, unknown
from halfcell.signals.noise import effective_size, first_autocorrelation
from halfcell.signals.time_order import must_not_fall

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from halfcell.results import FloatArray

INSTANTANEOUS, PROGRESSIVE = "instantaneous", "progressive"
# i_m² t_m / (z F A c)² D of the two limits, and b t_m, b t_m² at the maximum (Scharifker & Hills 1983).
PRODUCT = {INSTANTANEOUS: 0.1629, PROGRESSIVE: 0.2598}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GrowthFit:
    """One of the two limits fitted: i = a t^-1/2 (1 - exp(-b t^p)) + charging + background.

    ``amplitude`` a (A s^1/2), ``speed`` b (s^-p), ``charging`` (A) decaying with ``decay`` (s),
    ``background`` (A); ``misfit`` is the residual standard deviation (A), ``correlation`` its
    lag-one correlation, which is large where the curve has the wrong shape.
    """

    kind: str
    amplitude: Measured
    speed: Measured
    charging: float
    decay: float
    background: Measured
    misfit: float
    correlation: float
    curve: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Nucleation:
    """Both limits, and which is more probable: ``word`` with ``probability``; ``clear`` at the level asked for.

    ``maximum`` and ``at`` are the current and time of the growth's maximum by the better fit. ``density``
    (1/m²) and ``diffusion`` (m²/s) need the ion's concentration and the metal's molar volume.
    For progressive growth ``density`` is the number of nuclei at saturation.
    ``fits`` holds instantaneous, progressive. ``neither`` is True where even the better one leaves
    residuals as correlated as its own shape (above 0.9) and above 3 % of the maximum.
    """

    word: str
    probability: float
    clear: bool
    neither: bool
    fits: tuple[GrowthFit, GrowthFit]
    maximum: float
    at: float
    product: float
    density: Measured
    diffusion: Measured
    time: FloatArray
    current: FloatArray

    def best(self) -> GrowthFit:
        """The more probable fit."""
        return self.fits[0] if self.word == INSTANTANEOUS else self.fits[1]

    def plot(self, ax: Any) -> None:
        """The transient and both fits."""
        ax.plot(self.time, self.current, ".", color="0.6", ms=2)
        for fit, style in zip(self.fits, ("-", "--"), strict=True):
            ax.plot(self.time, fit.curve, style, color="k", lw=1, label=fit.kind)
        ax.set_xlabel("t / s")
        ax.set_ylabel("|I| / A")
        ax.legend(frameon=False)


def fit_nucleation(
    time: ArrayLike,
    current: ArrayLike,
    *,
    electrons: int | None = None,
    area: float | None = None,
    concentration: float | None = None,
    molar_mass: float | None = None,
    density: float | None = None,
    level: float = 0.95,
) -> Nucleation:
    """Fit both limits of three-dimensional growth under diffusion to a transient.

    Parameters
    ----------
    time, current : (n,) arrays, s from the step and A (sizes are taken)
    electrons, area, concentration, molar_mass, density : optional
        z, m², mol/m³ of the ion, kg/mol, kg/m³: for the density of nuclei and D.

    Raises
    ------
    MethodError
        Fewer than 30 samples after the step, time that falls back, or no fit that converges.

    Notes
    -----
    Instantaneous: i = zFAc (D/pi t)^1/2 [1 - exp(-N pi k D t)], k = (8 pi c M/rho)^1/2;
    progressive: the exponent is N0 A pi k' D t²/2, k' = 4/3 (8 pi c M/rho)^1/2 (Scharifker & Hills,
    Electrochim. Acta 1983, 28, 879; page from memory). A charging term A exp(-t/tau) and a constant background are
    fitted as well, before the two are compared by BIC with the number of independent samples n(1 - r)/(1 + r).
    """
    t, i = np.asarray(time, float), np.abs(np.asarray(current, float))
    good = np.isfinite(t) & np.isfinite(i) & (t > 0)
    t, i = t[good], i[good]
    if t.size < 30:
        raise MethodError(
            f"A deposition transient needs at least 30 samples after the step; there are {t.size}."
        )
    must_not_fall(t)
    if t.size > 3000:
        keep = np.unique(np.round(np.geomspace(1, t.size, 3000)).astype(int) - 1)
        t, i = t[keep], i[keep]
    fits = (_fit(t, i, INSTANTANEOUS, 1), _fit(t, i, PROGRESSIVE, 2))
    rho = min(max(min(f.correlation for f in fits), 0.0), 0.98)
    n = max(effective_size(float(t.size), rho), 8.0)
    gain = n * (math.log(fits[1].misfit) - math.log(fits[0].misfit))
    p = 1 / (1 + math.exp(-min(max(gain, -500.0), 500.0)))
    word, best = (INSTANTANEOUS, fits[0]) if p >= 0.5 else (PROGRESSIVE, fits[1])
    at, top = _maximum(best)
    nuclei, diffusion = _physical(best, electrons, area, concentration, molar_mass, density)
    return Nucleation(
        word=word,
        probability=max(p, 1 - p),
        clear=max(p, 1 - p) >= level,
        neither=best.correlation > 0.9 and best.misfit > 0.03 * top,
        fits=fits,
        maximum=top,
        at=at,
        product=top * top * at,
        density=nuclei,
        diffusion=diffusion,
        time=read_only(t),
        current=read_only(i),
    )


def shape(t: ArrayLike, amplitude: float, speed: float, power: int) -> FloatArray:
    """a t^-1/2 (1 - exp(-b t^p)), zero at t = 0. (n,) A."""
    x = np.asarray(t, float)
    safe = np.maximum(x, 1e-12)
    return np.asarray(
        np.where(x > 0, amplitude * -np.expm1(-speed * safe**power) / np.sqrt(safe), 0.0), float
    )


def _fit(t: NDArray[np.float64], i: NDArray[np.float64], kind: str, power: int) -> GrowthFit:
    from scipy.optimize import least_squares

    scale = float(np.quantile(i, 0.98)) or 1.0
    late = t > 0.02 * t[-1]
    smooth = np.convolve(i[late], np.ones(5) / 5, mode="same")[2:-2]
    peak_time = float(t[late][2:-2][int(np.argmax(smooth))])
    best: Any = None
    for guess in (peak_time, 0.3 * peak_time, 0.3 * t[-1]):
        at = max(guess, 2 * t[0])
        speed = 1.2564 / at if power == 1 else 2.3367 / at**2
        start = [
            math.log(scale * math.sqrt(at) / 0.65),
            math.log(speed),
            0.3,
            math.log(max(0.03 * t[-1], 2 * t[0])),
            0.0,
        ]
        low, high = _bounds(t, scale)
        found = least_squares(
            _residual,
            np.clip(start, low, high),
            jac=_slopes,
            args=(t, i / scale, scale, power),
            bounds=(low, high),
            x_scale="jac",
            max_nfev=300,
        )
        if best is None or found.cost < best.cost:
            best = found
    a, b, q, tau, base = best.x
    rest = best.fun
    df = max(t.size - 5, 1)
    rho = first_autocorrelation(rest)
    inflate = (1 + min(max(rho, 0.0), 0.98)) / (1 - min(max(rho, 0.0), 0.98))
    s2 = float(rest @ rest) / df
    covariance = np.linalg.pinv(best.jac.T @ best.jac) * s2 * inflate
    u = np.sqrt(np.maximum(np.diag(covariance), 0.0))
    n_eff = max(t.size / inflate - 5, 1.0)
    return GrowthFit(
        kind=kind,
        amplitude=Measured(value=math.exp(a), u=math.exp(a) * float(u[0]), df=n_eff),
        speed=Measured(value=math.exp(b), u=math.exp(b) * float(u[1]), df=n_eff),
        charging=float(q) * scale,
        decay=math.exp(tau),
        background=Measured(value=float(base) * scale, u=float(u[4]) * scale, df=n_eff),
        misfit=math.sqrt(s2) * scale,
        correlation=rho,
        curve=read_only((i / scale + rest) * scale),
    )


def _residual(
    p: NDArray[np.float64], t: NDArray[np.float64], i: NDArray[np.float64], scale: float, power: int
) -> NDArray[np.float64]:
    growth = shape(t, math.exp(p[0]) / scale, math.exp(p[1]), power)
    return np.asarray(growth + p[2] * np.exp(-t / math.exp(p[3])) + p[4] - i, float)


def _slopes(
    p: NDArray[np.float64], t: NDArray[np.float64], i: NDArray[np.float64], scale: float, power: int
) -> NDArray[np.float64]:
    """Derivatives (n, 5) of ``_residual``, all times being above zero."""
    height, x = math.exp(p[0]) / scale / np.sqrt(t), math.exp(p[1]) * t**power
    decayed = np.exp(-t / math.exp(p[3]))
    return np.column_stack(
        [
            -height * np.expm1(-x),
            height * np.exp(-x) * x,
            decayed,
            p[2] * decayed * t / math.exp(p[3]),
            np.ones_like(t),
        ]
    )


def _bounds(t: NDArray[np.float64], scale: float) -> tuple[list[float], list[float]]:
    wide = math.log(scale * math.sqrt(float(t[-1])))
    low = [wide - 14, math.log(1e-4 / float(t[-1]) ** 2), 0.0, math.log(float(t[0]) / 10), -0.5]
    high = [wide + 14, math.log(1e4 / float(t[0]) ** 2), 1e3, math.log(0.3 * float(t[-1])), 1.0]
    return low, high


def _maximum(fit: GrowthFit) -> tuple[float, float]:
    """Time and height of the growth's own maximum: b t_m = 1.25643, or b t_m² = 2.33668."""
    at = 1.25643 / fit.speed.value if fit.kind == INSTANTANEOUS else math.sqrt(2.33668 / fit.speed.value)
    power = 1 if fit.kind == INSTANTANEOUS else 2
    return at, float(shape([at], fit.amplitude.value, fit.speed.value, power)[0])


def _physical(
    fit: GrowthFit,
    electrons: int | None,
    area: float | None,
    concentration: float | None,
    molar_mass: float | None,
    density: float | None,
) -> tuple[Measured, Measured]:
    if electrons is None or area is None or concentration is None:
        why = "the electrons, the area and the concentration of the metal's ion are needed"
        return unknown(why), unknown(why)
    per = electrons * FARADAY * area * concentration / math.sqrt(math.pi)
    d = (fit.amplitude.value / per) ** 2
    relative = 2 * fit.amplitude.u / fit.amplitude.value
    diffusion = Measured(value=d, u=d * relative, df=fit.amplitude.df)
    if molar_mass is None or density is None:
        return unknown("the metal's molar mass and density are needed"), diffusion
    k = math.sqrt(8 * math.pi * concentration * molar_mass / density)
    b, rb = fit.speed.value, fit.speed.u / fit.speed.value
    if fit.kind == INSTANTANEOUS:
        n = b / (math.pi * k * d)
        return Measured(value=n, u=n * math.hypot(rb, relative), df=fit.speed.df), diffusion
    # Progressive: b = AN0 pi k' D / 2; nuclei at saturation (AN0 / 2 k' D)^1/2.
    rate = 2 * b / (math.pi * 4 / 3 * k * d)
    n = math.sqrt(rate / (2 * 4 / 3 * k * d))
    return Measured(value=n, u=n * 0.5 * math.hypot(rb, 2 * relative), df=fit.speed.df), diffusion
