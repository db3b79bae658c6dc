"""Statistics of many point patterns in one frame: L, quadrat counts and local density."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from halfcell.micrographs.ripley import ripley_k, ripley_l

if TYPE_CHECKING:
    from halfcell.results import FloatArray


def l_functions(
    patterns: FloatArray, *, width: float, height: float, steps: int = 40
) -> tuple[FloatArray, FloatArray]:
    """Distances (m,) up to a quarter of the shorter side or ten mean spacings, and L (patterns, m)."""
    n = patterns.shape[1]
    spacing = math.sqrt(width * height / n)
    r = np.linspace(0, min(0.25 * min(width, height), 6 * spacing), steps + 1)[1:]
    curves = np.stack([ripley_l(ripley_k(p[:, 0], p[:, 1], r, width=width, height=height)) for p in patterns])
    # Below the hard core all patterns have none: nothing to compare there.
    moving = curves[1:].std(axis=0) > 1e-9 * width
    return r[moving], curves[:, moving]


def quadrat_counts(patterns: FloatArray, *, width: float, height: float) -> FloatArray:
    """Counts (patterns, rows, columns) in equal rectangles that hold at least five particles on average."""
    n = patterns.shape[1]
    cells = max(4.0, n / 6)
    columns = max(2, round(math.sqrt(cells * width / height)))
    rows = max(2, round(cells / columns))
    return histogram(patterns, rows, columns, width, height)


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


def density_maps(patterns: FloatArray, *, width: float, height: float) -> FloatArray:
    """Local density over the mean (patterns, rows, columns): a Gaussian kernel of one and a half mean
    spacings, divided by the share of the kernel that lies in the frame."""
    from scipy.ndimage import gaussian_filter

    n = patterns.shape[1]
    cell = max(width, height) / 40
    rows, columns = max(4, round(height / cell)), max(4, round(width / cell))
    sigma = 1.5 * math.sqrt(width * height / n)
    s = (sigma / (height / rows), sigma / (width / columns))
    counts = histogram(patterns, rows, columns, width, height)
    smooth = gaussian_filter(counts, (0, *s), mode="constant")
    seen = gaussian_filter(np.ones((rows, columns)), s, mode="constant")
    return np.asarray(smooth / seen / (n / (rows * columns)))
