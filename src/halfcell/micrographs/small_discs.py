"""Particles hardly larger than the blur, measured by fitting a blurred disc to the pixels."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from halfcell.micrographs.blurred_disc import profile

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from halfcell.results import FloatArray

_ROUNDS = 4
"""Gauss–Newton steps with a wide prior of the contrast, and again with the image's own."""
_WIDE = 0.35
"""Standard deviation of the wide prior of the contrast, as a share of it."""
_REACH = 2.5
"""How far beyond the edge pixels are used, in σ."""
_STEP = 0.05
"""Spacing of the table of profiles, in σ."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Discs:
    """Fitted discs (n,), in pixels and shares of full scale.

    ``u_radius`` is the standard uncertainty of each radius from the noise and the spread of the contrasts;
    ``good`` (n,) false where the fit left its particle or does not describe it. ``blur`` is the
    standard deviation of the blur that fits all of them, ``typical`` the mean contrast and ``scatter`` its standard
    deviation between particles. Detection takes over place, size and contrast where ``good``; by the others
    the fit is held to discs of known size and blur.
    """

    x: FloatArray
    y: FloatArray
    radius: FloatArray
    contrast: FloatArray
    u_radius: FloatArray
    good: NDArray[np.bool_]
    blur: float
    typical: float
    scatter: float


class Neighbours(NamedTuple):
    """Pairs (m,): disc ``of`` is disturbed by a disc at ``x``, ``y`` with ``radius`` and ``contrast``; ``small`` is
    its number where it is fitted too, else −1."""

    of: NDArray[np.intp]
    x: FloatArray
    y: FloatArray
    radius: FloatArray
    contrast: FloatArray
    small: NDArray[np.intp]


def fit_discs(
    image: NDArray[np.float32],
    x: FloatArray,
    y: FloatArray,
    radius: FloatArray,
    contrast: FloatArray,
    ground: FloatArray,
    near: Neighbours,
    *,
    blur: float,
    noise: float,
    typical: float,
) -> Discs:
    """Position, radius and contrast of blurred discs by least squares on the pixels.

    Parameters
    ----------
    image : (rows, columns) array, not smoothed, share of full scale.
    x, y, radius, contrast : (n,) first guesses.
    ground : (n, k) the substrate's level in k directions from each.
    near : what else is bright around each.
    blur : standard deviation of the blur (with that of a pixel's own width), pixels: a guess, refined.
    noise : standard deviation of one pixel.
    typical : contrast that particles have where it can be seen, a guess.

    Notes
    -----
    A disc no larger than the blur shows little more than contrast times area. What parts the two
    is the contrast of the other particles: the discs' contrasts are taken as scattered normally about
    a mean, and that mean and scatter are estimated from the discs that are large enough to show
    their own (empirical Bayes). The blur is one parameter of all discs, eliminated from their normal equations.
    """
    w = _Windows(image, x, y, radius, ground, blur)
    p = np.column_stack([x, y, np.maximum(radius, 0.3 * blur), contrast, np.zeros(len(x))])
    mean, scatter = typical, _WIDE * typical
    covariance = np.zeros((len(x), 5, 5))
    for turn in range(2):
        for _ in range(_ROUNDS):
            p, blur, covariance = _step(w, p, near, blur, noise, mean, scatter, free_blur=turn == 0)
        if turn == 0:
            mean, scatter = _contrasts(p[:, 3], np.sqrt(covariance[:, 3, 3]), mean, scatter)
    moved = np.hypot(p[:, 0] - x, p[:, 1] - y)
    rest = w.misfit(p, near, blur)
    good = (
        (moved < 0.5 * radius + 0.6)
        & (p[:, 2] > 0.45 * radius)
        & (p[:, 2] < 1.6 * radius)
        & (rest < 2.2 * noise + 0.1 * p[:, 3])
    )
    return Discs(
        x=p[:, 0], y=p[:, 1], radius=p[:, 2], contrast=p[:, 3], u_radius=np.sqrt(covariance[:, 2, 2]),
        good=good, blur=blur, typical=mean, scatter=scatter,
    )  # fmt: skip


def _contrasts(value: FloatArray, u: FloatArray, mean: float, wide: float) -> tuple[float, float]:
    """Mean and scatter of the contrasts from those that show their own (known to 10 %, or the best eight)."""
    order = np.argsort(u)
    count = int(max(8, (u < 0.1 * mean).sum()))
    if len(order) < 8:
        return mean, 0.6 * wide
    v, s = value[order[:count]], u[order[:count]]
    middle = float(np.median(v))
    spread = 1.4826 * float(np.median(np.abs(v - middle)))
    scatter = math.sqrt(max(spread**2 - float(np.median(s)) ** 2, 0.0))
    scatter = min(max(scatter, 0.03 * middle), wide)
    weight = 1 / (s**2 + scatter**2) * (np.abs(v - middle) < 3 * np.hypot(s, scatter))
    return float((weight * v).sum() / weight.sum()), scatter


class _Windows:
    """The pixels around each disc, with the substrate's level on their side taken off."""

    def __init__(
        self, image: NDArray[np.float32], x: FloatArray, y: FloatArray, radius: FloatArray, ground: FloatArray, blur: float
    ) -> None:  # fmt: skip
        half = math.ceil(float(radius.max()) + _REACH * blur)
        offset = np.arange(-half, half + 1)
        du, dv = (a.ravel() for a in np.meshgrid(offset, offset))
        column, row = np.rint(x).astype(int)[:, None] + du, np.rint(y).astype(int)[:, None] + dv
        rows, columns = image.shape
        within = (row >= 0) & (column >= 0) & (row < rows) & (column < columns)
        self.u, self.v = column.astype(np.float32), row.astype(np.float32)
        a, b = self.u - x[:, None], self.v - y[:, None]
        self.weight = (within & (np.hypot(a, b) < radius[:, None] + _REACH * blur)).astype(np.float64)
        k = ground.shape[1]
        side = np.rint(np.arctan2(b, a) * (k / (2 * math.pi))).astype(int) % k
        level = np.take_along_axis(ground, side, axis=1)
        self.data = image[np.clip(row, 0, rows - 1), np.clip(column, 0, columns - 1)] - level

    def others(self, p: FloatArray, near: Neighbours, blur: float) -> FloatArray:
        """What the neighbours add to each window (n, pixels)."""
        out = np.zeros(self.data.shape)
        if not len(near.of):
            return out
        mine = near.small >= 0
        q = np.column_stack([near.x, near.y, near.radius, near.contrast])
        q[mine] = p[near.small[mine], :4]
        s = np.hypot(self.u[near.of] - q[:, 0, None], self.v[near.of] - q[:, 1, None])
        np.add.at(out, near.of, q[:, 3, None] * _profile(s / blur, q[:, 2, None] / blur))
        return out

    def misfit(self, p: FloatArray, near: Neighbours, blur: float) -> FloatArray:
        """Root mean square of what is left within each disc."""
        s = np.hypot(self.u - p[:, 0, None], self.v - p[:, 1, None])
        rest = self.data - self.others(p, near, blur) - p[:, 4, None]
        rest = rest - p[:, 3, None] * _profile(s / blur, p[:, 2, None] / blur)
        inside = self.weight * (s < p[:, 2, None] + 0.5 * blur)
        return np.asarray(np.sqrt((inside * rest**2).sum(axis=1) / np.maximum(inside.sum(axis=1), 1)))


def _step(
    w: _Windows, p: FloatArray, near: Neighbours, blur: float, noise: float, mean: float, scatter: float, *, free_blur: bool
) -> tuple[FloatArray, float, FloatArray]:  # fmt: skip
    """One damped Gauss–Newton step of all discs (x, y, radius, contrast, level) and of the blur they share."""
    a, b = w.u - p[:, 0, None], w.v - p[:, 1, None]
    distance = np.maximum(np.hypot(a, b), 1e-6)
    s, q = distance / blur, p[:, 2, None] / blur
    shape = _profile(s, q)
    by_q, by_s = _slopes(s, q)
    rest = w.data - w.others(p, near, blur) - p[:, 4, None] - p[:, 3, None] * shape
    # Pixels that noise does not explain (a grain edge, a streak) count less.
    odd = np.abs(rest) / (3.0 * noise + 0.1 * p[:, 3, None] * (by_q > 0.02))
    weight = w.weight / np.maximum(odd, 1.0) / noise**2
    rise = p[:, 3, None] / blur
    design = np.stack([-rise * by_s * a / distance, -rise * by_s * b / distance, rise * by_q, shape, np.ones_like(shape)], axis=1)  # fmt: skip
    weighted = design * weight[:, None, :]
    normal = np.einsum("nip,njp->nij", weighted, design)
    right = np.einsum("nip,np->ni", weighted, rest)
    # Priors: the contrast's, and a weak one of place, size and level that keeps a step finite.
    normal[:, 3, 3] += 1 / scatter**2
    right[:, 3] += (mean - p[:, 3]) / scatter**2
    weak = np.array([1.0, 1.0, 1.0, np.inf, 0.05 * mean + noise])
    normal[:, range(5), range(5)] += 1 / weak**2
    right[:, 4] -= p[:, 4] / weak[4] ** 2
    covariance = np.linalg.inv(normal)
    change = 0.0
    if free_blur:
        by_blur = -(s * by_s + q * by_q) * rise
        cross = np.einsum("nip,np->ni", weighted, by_blur)
        gone = np.einsum("nij,nj->ni", covariance, cross)
        curve = (weight * by_blur**2).sum(axis=1) - (cross * gone).sum(axis=1)
        pull = (weight * by_blur * rest).sum(axis=1) - (gone * right).sum(axis=1)
        change = float(np.clip(pull.sum() / (curve.sum() + 1 / (0.1 * blur) ** 2), -0.15 * blur, 0.15 * blur))
        right = right - cross * change
    step = np.einsum("nij,nj->ni", covariance, right)
    size = p[:, 2]
    step[:, :2] = np.clip(step[:, :2], -0.7, 0.7)
    step[:, 2] = np.clip(step[:, 2], -0.35 * size, 0.5 * size)
    p = p + step
    p[:, 3] = np.clip(p[:, 3], 0.1 * mean, 4 * mean)
    return p, blur + change, covariance


@functools.cache
def _table() -> NDArray[np.float32]:
    """Profiles over distance (rows) and radius (columns), both in σ."""
    s, q = np.arange(0, 10 + _STEP, _STEP), np.arange(0, 7 + _STEP, _STEP)
    return np.asarray(profile(s[:, None], q[None, :]), dtype=np.float32)


def _profile(s: FloatArray, q: FloatArray) -> FloatArray:
    """Brightness of blurred discs by the table; that of a straight edge where they are large."""
    from scipy.ndimage import map_coordinates
    from scipy.special import ndtr

    wide = np.broadcast_to(q, s.shape)
    places = [s.ravel() / _STEP, wide.ravel() / _STEP]
    read = map_coordinates(_table(), places, order=1, mode="nearest", prefilter=False, output=np.float64)
    out: FloatArray = np.asarray(read).reshape(s.shape)
    large = wide > 6.5
    return np.asarray(np.where(large, ndtr(wide - s), out)) if large.any() else out


def _slopes(s: FloatArray, q: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Derivatives of the profile by the radius and by the distance, in σ."""
    from scipy.special import i0e, i1e

    bell = q * np.exp(-0.5 * (s - q) ** 2)
    return bell * i0e(s * q), -bell * i1e(s * q)
