"""Outlines of the smallest particles put right by fitted discs."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from halfcell.micrographs.small_discs import Neighbours, fit_discs

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from halfcell.micrographs.measure import Outline
    from halfcell.micrographs.smoothing import Smoothed
    from halfcell.results import FloatArray

_SMALL = 3.2
"""Radius below which a disc is fitted, in standard deviations of the raw image's blur."""
_BILINEAR = 1 / 6
"""Mean variance (pixels²) that reading between pixels adds to the blur."""


def refine(m: Outline, there: NDArray[np.bool_], ready: Smoothed, sigma: float) -> None:
    """Radius, place and contrast of the particles hardly larger than the blur, from fits to the raw pixels.

    ``m`` is changed in place where ``there``, the particles, is true: half height says little about a disc of three pixels, whose brightness never
    reaches its plateau. ``sigma`` is the blur of the smoothed image as read along rays.
    """
    blur = math.sqrt(max(sigma**2 - ready.smoothing**2 - _BILINEAR, 0.09))
    rows, columns = ready.raw.shape
    framed = (m.x > -0.5) & (m.y > -0.5) & (m.x < columns - 0.5) & (m.y < rows - 0.5)
    small = np.flatnonzero(there & framed & (m.radius < _SMALL * blur))
    if not len(small):
        return
    x, y, radius, contrast = m.x[small], m.y[small], m.radius[small], m.contrast[small]
    shown = there & (m.radius > 2.0 * blur) & (m.elongation < 1.4)
    typical = float(np.median(m.contrast[shown] if shown.sum() >= 5 else contrast))
    found = fit_discs(
        ready.raw, x, y, radius, contrast, _even(m.ground, small), _near(m, there, small, blur),
        blur=blur, noise=max(ready.noise, 1e-4), typical=typical,
    )  # fmt: skip
    good = found.good
    at = small[good]
    grown = found.radius[good] / np.maximum(m.radius[at], 1e-9)
    for i, ratio, dx, dy in zip(at.tolist(), grown, found.x[good] - m.x[at], found.y[good] - m.y[at], strict=True):  # fmt: skip
        middle = np.array([m.x[i], m.y[i]])
        m.polygon[i] = ((m.polygon[i] - middle) * ratio + middle + (dx, dy)).astype(np.float32)
    m.x[at], m.y[at], m.radius[at], m.level[at] = found.x[good], found.y[good], found.radius[good], found.contrast[good]  # fmt: skip
    m.fitted[at] = True


def _even(ground: list[FloatArray], index: NDArray[np.intp]) -> FloatArray:
    """The substrate's level in equally many directions of each (n, k)."""
    few = min(len(ground[i]) for i in index)
    return np.stack([ground[i][:: len(ground[i]) // few] for i in index])


def _near(m: Outline, there: NDArray[np.bool_], small: NDArray[np.intp], blur: float) -> Neighbours:
    """Other candidates that reach into the windows of the small ones."""
    from scipy.spatial import cKDTree

    others = np.flatnonzero(there)
    number = np.full(len(m.x), -1, dtype=np.intp)
    number[small] = np.arange(len(small))
    tree = cKDTree(np.column_stack([m.x, m.y])[small])
    of: list[int] = []
    by: list[int] = []
    widest = float(m.radius[small].max()) + 5 * blur
    for j in others.tolist():
        for i in tree.query_ball_point((m.x[j], m.y[j]), float(m.radius[j]) + widest):
            apart = math.hypot(m.x[j] - m.x[small[i]], m.y[j] - m.y[small[i]])
            if small[i] != j and apart < m.radius[j] + m.radius[small[i]] + 5 * blur:
                of.append(i)
                by.append(j)
    k = np.array(by, dtype=np.intp)
    return Neighbours(
        of=np.array(of, dtype=np.intp),
        x=m.x[k],
        y=m.y[k],
        radius=m.radius[k],
        contrast=m.contrast[k],
        small=number[k],
    )
