"""Random patterns of the same particles: the null model for evenness, in which particles have size."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from halfcell.micrographs.window import Window
    from halfcell.results import FloatArray


def hard_discs(
    rng: np.random.Generator,
    diameter: FloatArray,
    *,
    window: Window,
    contact: float = 1.0,
    patterns: int = 199,
) -> FloatArray:
    """Random patterns (patterns, n, 2) of discs that do not overlap, centres in a window.

    Discs are put down one after another at random, the largest first, each where it first fits
    (random sequential placement); two centres stay ``contact`` × the sum of the radii apart. After
    400 tries (a crowded window) a disc stays at its last place.
    """
    order = np.argsort(-np.asarray(diameter, dtype=np.float64), kind="stable")
    radius = (np.asarray(diameter, dtype=np.float64)[order] / 2).astype(np.float32)
    n = len(radius)
    where = np.empty((patterns, n, 2), dtype=np.float32)
    for k in range(n):
        reach = (contact * (radius[:k] + radius[k])) ** 2
        open_ = np.arange(patterns)
        for _ in range(400):
            tried = window.random(rng, len(open_))
            where[open_, k] = tried
            if k == 0:
                break
            gap = where[open_, :k, 0] - tried[:, :1]
            apart = gap * gap
            gap = where[open_, :k, 1] - tried[:, 1:]
            apart += gap * gap
            open_ = open_[(apart < reach).any(axis=1)]
            if not len(open_):
                break
    out = np.empty((patterns, n, 2))
    out[:, order] = where
    return out


def contact_of(x: FloatArray, y: FloatArray, diameter: FloatArray) -> float:
    """The least distance of two centres over the sum of their radii, between 0.85 and 1.05."""
    from scipy.spatial import cKDTree

    if len(x) < 2:
        return 1.0
    points = np.column_stack([x, y])
    pairs = cKDTree(points).query_pairs(float(np.max(diameter)) * 1.1, output_type="ndarray")
    if not len(pairs):
        return 1.05
    apart = np.hypot(*(points[pairs[:, 0]] - points[pairs[:, 1]]).T)
    ratio = apart / ((diameter[pairs[:, 0]] + diameter[pairs[:, 1]]) / 2)
    return float(np.clip(ratio.min(), 0.85, 1.05))
