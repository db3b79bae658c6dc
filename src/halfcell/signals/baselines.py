"""Baselines: a polynomial through windows, the tangent below a peak, penalised least squares."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import read_only

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Baseline:
    """A baseline (n,) in the unit of the data, with its standard uncertainty (n,) at each sample.

    ``windows`` are the stretches of x it rests on; ``kind`` is "constant", "line", "polynomial",
    "tangent" or "smooth"; ``misfit`` is the standard deviation about it inside the windows.
    """

    kind: str
    values: FloatArray
    u: FloatArray
    windows: tuple[tuple[float, float], ...]
    misfit: float
    note: str = ""

    def plot(self, ax: Any, x: ArrayLike) -> None:
        """The baseline over x."""
        ax.plot(np.asarray(x), self.values, color="0.3", ls="--", lw=1.0, label=f"baseline ({self.kind})")


def inside(x: NDArray[np.float64], windows: Sequence[tuple[float, float]]) -> NDArray[np.bool_]:
    """Which samples lie in any of the windows (ends included, either order)."""
    mask = np.zeros(x.size, bool)
    for a, b in windows:
        mask |= (x >= min(a, b)) & (x <= max(a, b))
    return mask


def window_baseline(
    x: ArrayLike, y: ArrayLike, windows: Sequence[tuple[float, float]], *, order: int = 1, rho: float = 0.0
) -> Baseline:
    """Least-squares polynomial through the samples inside the windows, extended over all x.

    Parameters
    ----------
    x, y : (n,) arrays
    windows : pairs of x
    order : int
        0 constant, 1 line, 2 and more polynomial.
    rho : float
        Lag-one correlation of the noise: the covariance is multiplied by (1 + rho)/(1 - rho), the
        factor by which AR(1) noise inflates the variance of a slowly varying fit.

    Raises
    ------
    MethodError
        Fewer than order + 3 samples inside the windows.
    """
    xs, ys = np.asarray(x, float), np.asarray(y, float)
    mask = inside(xs, windows) & np.isfinite(ys)
    n = int(mask.sum())
    if n < order + 3:
        raise MethodError(
            f"The baseline windows {_shown(windows)} hold {n} samples; a polynomial of order {order} needs {order + 3}. "
            f"The record goes from {xs.min():.3f} to {xs.max():.3f}."
        )
    middle = float(xs[mask].mean())
    scale = float(np.ptp(xs[mask])) / 2 or 1.0
    design = ((xs - middle) / scale)[:, None] ** np.arange(order + 1)
    used = design[mask]
    normal = np.linalg.inv(used.T @ used)
    coefficients = normal @ (used.T @ ys[mask])
    rest = ys[mask] - used @ coefficients
    s2 = float(rest @ rest) / (n - order - 1)
    inflate = (1 + rho) / (1 - rho)
    spread = np.einsum("ij,jk,ik->i", design, normal, design)
    kind = "constant" if order == 0 else "line" if order == 1 else "polynomial"
    return Baseline(
        kind=kind,
        values=read_only(design @ coefficients),
        u=read_only(np.sqrt(np.maximum(s2 * inflate * spread, 0.0))),
        windows=tuple((float(a), float(b)) for a, b in windows),
        misfit=math.sqrt(s2),
    )


def tangent_baseline(x: ArrayLike, y: ArrayLike, peak: float, *, sign: int = 1) -> Baseline:
    """The straight line that touches the curve on both sides of a peak and lies below it.

    Parameters
    ----------
    x, y : (n,) arrays, x monotonic
    peak : float
        Position of the peak; the touching points lie on its two sides.
    sign : int
        +1 for a peak upwards, -1 downwards.

    Raises MethodError when the curve has no point on one side. The line is the edge of the lower
    convex hull that spans the peak; its uncertainty is the noise at the touching points, taken
    from their neighbours.
    """
    xs, ys = np.asarray(x, float), sign * np.asarray(y, float)
    order = np.argsort(xs)
    xa, ya = xs[order], ys[order]
    if not (xa[0] < peak < xa[-1]):
        raise MethodError(
            f"A tangent needs the curve on both sides of the peak at {peak:.3f}; it runs from {xa[0]:.3f} to {xa[-1]:.3f}."
        )
    hull: list[int] = []
    for k in range(xa.size):
        while len(hull) > 1 and _turn(xa, ya, hull[-2], hull[-1], k) <= 0:
            hull.pop()
        hull.append(k)
    right = next(k for k in hull if xa[k] >= peak)
    left = hull[hull.index(right) - 1] if hull.index(right) > 0 else hull[0]
    slope = (ya[right] - ya[left]) / (xa[right] - xa[left]) if right != left else 0.0
    line = ya[left] + slope * (xs - xa[left])
    noise = float(np.std(np.diff(ya, 2)) / math.sqrt(6)) if ya.size > 4 else math.nan
    share = np.clip((xs - xa[left]) / (xa[right] - xa[left] or 1.0), -2, 3)
    return Baseline(
        kind="tangent",
        values=read_only(sign * line),
        u=read_only(noise * np.sqrt((1 - share) ** 2 + share**2)),
        windows=((float(xa[left]), float(xa[left])), (float(xa[right]), float(xa[right]))),
        misfit=noise,
    )


def _turn(x: NDArray[np.float64], y: NDArray[np.float64], a: int, b: int, c: int) -> float:
    return float((x[b] - x[a]) * (y[c] - y[a]) - (y[b] - y[a]) * (x[c] - x[a]))


def smooth_baseline(y: ArrayLike, *, stiffness: float = 1e6, sign: int = 1) -> Baseline:
    """Asymmetrically reweighted penalised least squares (Baek et al., Analyst 2015, 140, 250; from memory).

    ``y`` (n,) array. Computed by the pybaselines library. ``stiffness`` is its penalty; ``sign`` -1 for a peak
    downwards. The uncertainty is half the change when the stiffness is ten times less or more. Raises MethodError for fewer than 20 samples.
    """
    from pybaselines import Baseline as Library

    ys = sign * np.asarray(y, float)
    if ys.size < 20:
        raise MethodError(f"A smooth baseline needs at least 20 samples; there are {ys.size}.")
    library = Library(check_finite=True)
    scale = float(np.ptp(ys)) or 1.0
    fits = [
        library.arpls(ys / scale, lam=lam)[0] * scale for lam in (stiffness / 10, stiffness, stiffness * 10)
    ]
    return Baseline(
        kind="smooth",
        values=read_only(sign * fits[1]),
        u=read_only(np.abs(fits[2] - fits[0]) / 2),
        windows=(),
        misfit=float(np.std(np.diff(ys, 2)) / math.sqrt(6)),
        note=f"penalty {stiffness:.3g}",
    )


def polynomial_baseline(x: ArrayLike, y: ArrayLike, *, order: int = 3, sign: int = 1) -> Baseline:
    """Polynomial fitted again and again to what lies not above it (Lieber & Mahadevan-Jansen,
    Appl. Spectrosc. 2003, 57, 1363; from memory), computed by the pybaselines library.

    ``x``, ``y`` (n,) arrays. The uncertainty is half the difference between the next lower and the next higher order. Raises MethodError for too few samples.
    """
    from pybaselines import Baseline as Library

    xs, ys = np.asarray(x, float), sign * np.asarray(y, float)
    if ys.size < 20 or order < 1:
        raise MethodError(
            f"A polynomial baseline needs 20 samples and order 1; there are {ys.size} samples, order {order}."
        )
    library = Library(xs, check_finite=True)
    fits = [library.imodpoly(ys, poly_order=k)[0] for k in (order - 1, order, order + 1)]
    return Baseline(
        kind="polynomial",
        values=read_only(sign * fits[1]),
        u=read_only(np.abs(fits[2] - fits[0]) / 2),
        windows=(),
        misfit=float(np.std(np.diff(ys, 2)) / math.sqrt(6)),
        note=f"order {order}",
    )


def _shown(windows: Sequence[tuple[float, float]]) -> str:
    return ", ".join(f"{a:.3f} to {b:.3f}" for a, b in windows)
