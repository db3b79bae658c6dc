"""Statistics of many point patterns in one window: L, quadrat counts and local density."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from halfcell.micrographs.ripley import ripley_k, ripley_l

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from halfcell.micrographs.window import Window
    from halfcell.results import FloatArray

_LEAST_SEEN = 0.5
"""Least share of a quadrat, or of a place's kernel, that must be seen for it to be judged."""


def l_functions(patterns: FloatArray, *, window: Window, steps: int = 40) -> tuple[FloatArray, FloatArray]:
    """Distances (m,) up to a quarter of the shorter side or six mean spacings, and L (patterns, m)."""
    n = patterns.shape[1]
    width, height = window.width, window.height
    spacing = math.sqrt(window.area / n)
    r = np.linspace(0, min(0.25 * min(width, height), 6 * spacing), steps + 1)[1:]
    curves = np.stack([
        ripley_l(ripley_k(p[:, 0], p[:, 1], r, width=width, height=height, window=window)) for p in patterns
    ])  # fmt: skip
    # Below the hard core all patterns have none: nothing to compare there.
    moving = curves[1:].std(axis=0) > 1e-9 * width
    return r[moving], curves[:, moving]


def quadrats(patterns: FloatArray, *, window: Window) -> tuple[FloatArray, FloatArray]:
    """Counts (patterns, rows, columns) in equal rectangles of about six particles, nan where a mask hides
    more than half, and the index of dispersion (patterns,) of those that are left.

    The index is Σ(count − expected)²/expected over quadrats less one, expected in proportion to the area
    seen; where all is seen it is the variance of the counts over their mean.
    """
    n = patterns.shape[1]
    width, height = window.width, window.height
    cells = max(4.0, n / 6 * width * height / window.area)
    columns = max(2, round(math.sqrt(cells * width / height)))
    rows = max(2, round(cells / columns))
    counts = histogram(patterns, rows, columns, width, height)
    share = window.shares(rows, columns)
    kept = share >= _LEAST_SEEN
    if kept.sum() < 2:
        return np.where(kept, counts, math.nan), np.full(len(patterns), math.nan)
    return np.where(kept, counts, math.nan), dispersion(counts[:, kept], share[kept])


def dispersion(counts: FloatArray, share: FloatArray) -> FloatArray:
    """Index of dispersion (patterns,) of counts (patterns, k) in places of which ``share`` (k,) is seen: χ²/(k − 1)."""
    expected = share / share.sum() * counts.sum(axis=1, keepdims=True)
    squares = (counts - expected) ** 2 / np.maximum(expected, 1e-12)
    return np.asarray(squares.sum(axis=1) / (counts.shape[1] - 1))


def histogram(patterns: FloatArray, rows: int, columns: int, width: float, height: float) -> FloatArray:
    """Counts of each pattern on a grid (patterns, rows, columns)."""
    i = np.clip((patterns[..., 1] * (rows / height)).astype(int), 0, rows - 1)
    j = np.clip((patterns[..., 0] * (columns / width)).astype(int), 0, columns - 1)
    flat = (np.arange(len(patterns))[:, None] * rows + i) * columns + j
    return (
        np.bincount(flat.ravel(), minlength=len(patterns) * rows * columns)
        .reshape(len(patterns), rows, columns)
        .astype(float)
    )


def density_maps(patterns: FloatArray, *, window: Window) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Local density over the mean (patterns, rows, columns), and which places (rows, columns) are seen.

    A Gaussian kernel of one and a half mean spacings, divided by the share of the kernel that is seen;
    nan where the place itself is masked.
    """
    from scipy.ndimage import gaussian_filter

    n = patterns.shape[1]
    width, height = window.width, window.height
    cell = max(width, height) / 40
    rows, columns = max(4, round(height / cell)), max(4, round(width / cell))
    sigma = 1.5 * math.sqrt(window.area / n)
    s = (sigma / (height / rows), sigma / (width / columns))
    counts = histogram(patterns, rows, columns, width, height)
    share = window.shares(rows, columns)
    smooth = gaussian_filter(counts, (0, *s), mode="constant")
    weight = gaussian_filter(share, s, mode="constant")
    seen = share >= _LEAST_SEEN
    maps = smooth / np.maximum(weight, 1e-9) / (n / share.sum())
    return np.where(seen, maps, math.nan), seen
