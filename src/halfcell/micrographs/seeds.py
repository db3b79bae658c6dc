"""Where bright blobs of any size may be: peaks of a multi-scale difference of Gaussians."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from halfcell.results import FloatArray

_DISC = 1.6651
"""Radius of the disc that answers most to a difference of Gaussians σ and √2σ, in σ: 2·(ln 2)^½."""
_ANSWER = 0.25
"""That disc's answer, in units of its contrast (1/2 − 1/4)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Seeds:
    """Candidates (n,): centre ``x``, ``y`` and ``radius`` in pixels, and estimated ``contrast``."""

    x: FloatArray
    y: FloatArray
    radius: FloatArray
    contrast: FloatArray


def find_seeds(
    smoothed: NDArray[np.float32],
    *,
    noise: float,
    smoothing: float,
    largest: float,
    significance: float = 5.0,
) -> Seeds:
    """Candidate blobs between about 3 pixels and ``largest`` pixels across.

    Parameters
    ----------
    smoothed : (rows, columns) array, share of full scale.
    noise : standard deviation of one smoothed pixel.
    smoothing : standard deviation of the smoothing already done, pixels.
    largest : largest diameter looked for, pixels.
    significance : a peak must stand this many standard deviations of the filter's noise.

    Notes
    -----
    On a pyramid that halves the image at each step, two differences of Gaussians a step (scales
    √2 apart). A peak that is a ridge (ratio of the principal curvatures below 0.2) is dropped;
    of peaks that claim the same place the one with the strongest answer stays. The scale-space
    blob detector is that of Lindeberg (1998, Int. J. Comput. Vis. 30, 79, from memory).
    """
    from scipy.ndimage import gaussian_filter

    raw = noise * 2 * math.sqrt(math.pi) * smoothing
    level, step = smoothed, 1
    parts: list[NDArray[np.float64]] = []
    while True:
        level = _halved(level)
        step *= 2
        if min(level.shape) < 8:
            break
        blurred = [gaussian_filter(level, s, mode="nearest", truncate=3.0) for s in (1.0, math.sqrt(2), 2.0)]
        for fine, coarse, scale in ((0, 1, 1.0), (1, 2, math.sqrt(2))):
            sigma = scale * step
            answer = blurred[fine] - blurred[coarse]
            wide = math.hypot(sigma, smoothing)
            floor = significance * 0.115 * raw / wide
            parts.append(_peaks(answer, floor, step, _DISC * sigma))
        if 2 * _DISC * 2 * step * math.sqrt(2) > largest * 1.5:
            break
    found = np.concatenate(parts) if parts else np.empty((0, 4))
    if len(found):
        # What is faint beside the bulk of the bright area is texture.
        order = np.argsort(found[:, 3])
        weight = np.cumsum(found[order, 2] ** 2 * found[order, 3])
        bulk = found[order[np.searchsorted(weight, 0.75 * weight[-1])], 3]
        found = found[found[:, 3] > 0.2 * bulk]
    found = found[np.argsort(-found[:, 3], kind="stable")]
    keep = _strongest(found[:, 0], found[:, 1], found[:, 2])
    found = found[keep]
    return Seeds(x=found[:, 0], y=found[:, 1], radius=found[:, 2], contrast=found[:, 3] / _ANSWER)


def _halved(image: NDArray[np.float32]) -> NDArray[np.float32]:
    rows, columns = image.shape[0] // 2 * 2, image.shape[1] // 2 * 2
    pairs = image[0:rows:2, :columns] + image[1:rows:2, :columns]
    return np.asarray((pairs[:, 0::2] + pairs[:, 1::2]) * np.float32(0.25))


def _peaks(answer: NDArray[np.float32], floor: float, step: int, radius: float) -> NDArray[np.float64]:
    """Rows of (x, y, radius, answer) of the round peaks above the floor."""
    from scipy.ndimage import maximum_filter

    top = maximum_filter(answer, size=3, mode="nearest")
    v, u = np.nonzero((answer == top) & (answer > floor))
    if not len(u):
        return np.empty((0, 4))
    padded = np.pad(answer, 1, mode="reflect")

    def at(dv: int, du: int) -> NDArray[np.float64]:
        return padded[v + 1 + dv, u + 1 + du].astype(np.float64)

    middle = at(0, 0)
    xx = at(0, 1) + at(0, -1) - 2 * middle
    yy = at(1, 0) + at(-1, 0) - 2 * middle
    xy = (at(1, 1) + at(-1, -1) - at(1, -1) - at(-1, 1)) / 4
    half, spread = (xx + yy) / 2, np.hypot((xx - yy) / 2, xy)
    round_enough = (half + spread < 0) & ((half + spread) / (half - spread - 1e-12) > 0.2)
    du = np.clip(-(at(0, 1) - at(0, -1)) / 2 / np.minimum(xx, -1e-9), -0.5, 0.5)
    dv = np.clip(-(at(1, 0) - at(-1, 0)) / 2 / np.minimum(yy, -1e-9), -0.5, 0.5)
    # The centre of the first pixel of a halved image lies (step − 1)/2 pixels in.
    x, y = (u + du) * step + (step - 1) / 2, (v + dv) * step + (step - 1) / 2
    return np.column_stack([x, y, np.full(len(x), radius), middle])[round_enough]


def _strongest(x: FloatArray, y: FloatArray, radius: FloatArray) -> NDArray[np.bool_]:
    """Which of candidates sorted by strength stay: none lies within the reach of a stronger one, or reaches it."""
    from scipy.spatial import cKDTree

    keep = np.ones(len(x), dtype=bool)
    if len(x) < 2:
        return keep
    points = np.column_stack([x, y])
    parts = []
    for reach in np.unique(radius):
        # Pairs of which the larger one has this radius.
        index = np.flatnonzero(radius <= reach)
        pairs = index[cKDTree(points[index]).query_pairs(reach, output_type="ndarray")]
        parts.append(pairs[(radius[pairs] == reach).any(axis=1)])
    pairs = np.sort(np.concatenate(parts), axis=1)
    keep[:] = False
    waiting = np.ones(len(x), dtype=bool)
    while waiting.any():
        # In each round those stay that no stronger one may still drive out.
        first = waiting.copy()
        first[pairs[:, 1]] = False
        keep |= first
        waiting &= ~first
        waiting[pairs[first[pairs[:, 0]], 1]] = False
        pairs = pairs[waiting[pairs].all(axis=1)]
    return keep
