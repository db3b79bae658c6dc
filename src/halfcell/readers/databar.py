"""A data bar below a micrograph, told by its flat background.

A bar is drawn, not measured: in each of its rows a good part of the pixels has exactly one grey
value, and the rows of the image just above have nothing like it (common practice, no source).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

_TOLERANCE = 3
_IN_BAR = 0.35
_IN_BAR_MEAN = 0.5
_IN_IMAGE = 0.2
_TALLEST = 0.35
_ABOVE = 12
_GAP = 4
"""Rows of lettering in which the background may nearly vanish."""


def bar_rows(pixels: NDArray[np.float32]) -> int:
    """Rows at the bottom of (rows, columns) grey values 0 … 1 that look like a data bar; 0: none."""
    height = pixels.shape[0]
    tallest = int(height * _TALLEST)
    if tallest < 8:
        return 0
    low = np.rint(pixels[height - tallest - _ABOVE :] * 255).astype(np.int16)
    bottom = low[-max(4, height // 64) :]
    background = int(np.bincount(np.clip(bottom, 0, 255).ravel(), minlength=256).argmax())
    flat = np.mean(np.abs(low - background) <= _TOLERANCE, axis=1)
    uniform = np.ptp(low, axis=1) <= 2 * _TOLERANCE
    inside = (flat >= _IN_BAR) | uniform
    start, gap = len(low), 0
    for row in range(len(low) - 1, -1, -1):
        if inside[row]:
            start, gap = row, 0
            continue
        gap += 1
        if gap > _GAP:
            break
    rows = len(low) - start
    if not 6 <= rows <= tallest or start < _ABOVE // 2:
        return 0
    above = flat[max(0, start - _ABOVE) : start]
    if flat[start:].mean() < _IN_BAR_MEAN or above.mean() > _IN_IMAGE:
        return 0
    return int(rows)
