"""The top of a peak and its flanks, by local polynomials."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Measured

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from halfcell.signals.noise import Noise


@dataclass(frozen=True, slots=True, kw_only=True)
class Top:
    """Where the maximum is (V) and how high (A), with standard uncertainties from the noise alone."""

    at: float
    u_at: float
    height: float
    u_height: float
    samples: int
    index: int
    step: float
    reach: int = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossing:
    """Where a flank passes a share of the height: potential, slope there (A/V, size), scan direction."""

    at: float
    slope: float
    u_slope: float
    u_level: float
    forwards: int

    def measured(self, u_shift: float) -> Measured:
        """The potential, its uncertainty from the noise and from a shift of the level (A)."""
        return Measured(
            value=self.at, u=math.hypot(self.u_level, u_shift) / self.slope if self.slope > 0 else math.nan
        )


def top_of(
    e: NDArray[np.float64],
    up: NDArray[np.float64],
    at: float,
    half_width: float,
    bound: tuple[float, float],
    noise: Noise,
) -> Top:
    """The maximum of a cubic through the samples within 0.45 half-widths of the highest moving mean.

    ``e`` (n,) array, V; ``up`` (n,) array, A, positive at the peak; ``at``, ``half_width`` and ``bound`` in V.
    Raises MethodError for fewer than five samples inside ``bound``. Source: common practice, no source.
    """
    near = np.flatnonzero((e >= min(bound)) & (e <= max(bound)))
    if near.size < 5:
        raise MethodError(
            f"There are {near.size} samples between {min(bound):.3f} and {max(bound):.3f} V; a peak needs 5."
        )
    step = float(np.median(np.abs(np.diff(e))))
    reach = max(round(0.45 * half_width / step), 2)
    m = min(reach | 1, near.size)
    rough = np.convolve(
        np.pad(up[near], (m // 2, m - 1 - m // 2), mode="edge"), np.full(m, 1 / m), mode="valid"
    )
    k = int(near[int(np.argmax(rough))])
    left, right = max(k - reach, 0), min(k + reach, e.size - 1)
    x = e[left : right + 1]
    y = up[left : right + 1]
    if x.size < 4:
        return Top(
            at=float(e[k]),
            u_at=step,
            height=float(up[k]),
            u_height=noise.sigma,
            samples=1,
            index=k,
            step=step,
            reach=reach,
        )
    return _polynomial(x, y, e, step, reach, noise)


def _polynomial(
    x: NDArray[np.float64],
    y: NDArray[np.float64],
    e: NDArray[np.float64],
    step: float,
    reach: int,
    noise: Noise,
) -> Top:
    middle, scale = float(x.mean()), float(np.ptp(x)) / 2
    z = (x - middle) / scale
    order = 4 if x.size >= 40 else 3 if x.size >= 9 else 2
    design = z[:, None] ** np.arange(order + 1)
    normal = np.linalg.inv(design.T @ design)
    c = normal @ (design.T @ y)
    rest = y - design @ c
    s2 = (
        max(float(rest @ rest) / max(x.size - order - 1, 1), 0.5 * noise.sigma**2)
        * (1 + noise.rho)
        / (1 - noise.rho)
    )
    # The maximum is no linear function of the coefficients: it is taken for draws of them as well.
    grid = np.linspace(-1, 1, 201)
    powers = grid[:, None] ** np.arange(order + 1)
    drawn = c + _draws(order + 1) @ np.linalg.cholesky(normal * s2 + 1e-30 * np.eye(order + 1)).T
    curves = powers @ np.column_stack([c, drawn.T])
    best = np.argmax(curves, axis=0)
    tops = curves[best, np.arange(curves.shape[1])]
    place, height = _refined(grid, curves[:, 0], int(best[0]))
    surplus = float(tops[1:].mean()) - float(tops[0])
    at = middle + scale * place
    return Top(
        at=at,
        u_at=scale * float(np.std(grid[best[1:]])),
        height=height - surplus,
        u_height=float(np.std(tops[1:])),
        samples=int(x.size),
        index=int(np.argmin(np.abs(e - at))),
        step=step,
        reach=reach,
    )


@functools.cache
def _draws(dimension: int) -> NDArray[np.float64]:
    """(127, dimension) standard normal points, evenly spread (Halton), the same every time."""
    from scipy.special import ndtri
    from scipy.stats import qmc

    points: NDArray[np.float64] = np.asarray(
        ndtri(qmc.Halton(dimension, scramble=False).random(128)[1:]), float
    )
    points = (points - points.mean(0)) / points.std(0)
    points.setflags(write=False)
    return points


def _refined(x: NDArray[np.float64], y: NDArray[np.float64], k: int) -> tuple[float, float]:
    if not 0 < k < x.size - 1:
        return float(x[k]), float(y[k])
    a, b, c = float(y[k - 1]), float(y[k]), float(y[k + 1])
    bend = a - 2 * b + c
    if bend == 0:
        return float(x[k]), b
    d = 0.5 * (a - c) / bend
    return float(x[k]) + d * float(x[1] - x[0]), b - 0.25 * (a - c) * d


def crossing(
    e: NDArray[np.float64], up: NDArray[np.float64], top: Top, share: float, way: int, noise: Noise
) -> Crossing | None:
    """Where the current passes ``share`` of the height before (way -1) or after (+1) the top, or None."""
    level = share * top.height
    m = min(top.reach | 1, 2 * (up.size // 6) + 1)
    mean = np.convolve(np.pad(up, m // 2, mode="edge"), np.full(m, 1 / m), mode="valid")
    path = range(top.index, -1, -1) if way < 0 else range(top.index, e.size)
    near = next((k for k in path if mean[k] < level), None)
    if near is None:
        return None
    reach = max(round(0.8 * top.reach), 2)
    for _ in range(3):
        a, b = max(near - reach, 0), min(near + reach + 1, e.size)
        x, y = e[a:b] - e[near], up[a:b]
        if x.size < 3:
            return None
        curve = np.polyfit(x, y, 3 if x.size >= 9 else 1)
        at, slope = _root(curve, level, float(x[0]), float(x[-1]))
        if slope == 0:
            return None
        at += float(e[near])
        nearer = int(np.argmin(np.abs(e - at)))
        if abs(nearer - near) <= 1:
            break
        near = nearer
    inflate = math.sqrt((1 + noise.rho) / (1 - noise.rho))
    spread = float(np.std(x)) * math.sqrt(x.size)
    forwards = 1 if e[-1] > e[0] else -1
    return Crossing(
        at=at,
        slope=abs(float(slope)),
        u_slope=noise.sigma * inflate / spread if spread > 0 else math.nan,
        u_level=noise.sigma * inflate * (1.5 if x.size >= 9 else 1.0) / math.sqrt(x.size),
        forwards=forwards if way < 0 else -forwards,
    )


def _root(curve: NDArray[np.float64], level: float, first: float, last: float) -> tuple[float, float]:
    """Where a polynomial passes a level, and its slope there, by Newton from the middle, kept near the stretch."""
    slope, x = np.polyder(curve), 0.0
    low, high = sorted((1.5 * first, 1.5 * last))
    for _ in range(6):
        s = float(np.polyval(slope, x))
        if s == 0:
            return x, 0.0
        x = min(max(x - (float(np.polyval(curve, x)) - level) / s, low), high)
    return x, float(np.polyval(slope, x))
