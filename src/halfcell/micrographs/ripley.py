"""Ripley's K and L with translation or isotropic edge correction."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal

import numpy as np

from halfcell.errors import MethodError

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.micrographs.window import Window
    from halfcell.results import FloatArray


def ripley_k(
    x: ArrayLike,
    y: ArrayLike,
    radii: ArrayLike,
    *,
    width: float,
    height: float,
    correction: Literal["translation", "isotropic", "none"] = "translation",
    window: Window | None = None,
) -> FloatArray:
    """K(r) of points in a rectangle that begins at (0, 0): area/(n(n−1)) Σ over ordered pairs closer than r.

    Each pair counts 1 over the share of translations that keep it in the frame ("translation",
    Ohser 1983), or over the share of the circle through the other point that lies in the frame
    ("isotropic", Ripley 1977), or plainly ("none", biased down). With a ``window`` of the frame, some of
    which is masked, the points are those in it, its area counts, and translations are those that keep
    the pair in it.

    Raises MethodError with fewer than 2 points, and for a masked window with the isotropic correction.
    """
    u, v = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    r = np.asarray(radii, dtype=float)
    n = len(u)
    if n < 2:
        raise MethodError("K needs at least two points.")
    from scipy.spatial import cKDTree

    pairs = cKDTree(np.column_stack([u, v])).query_pairs(float(r.max()), output_type="ndarray")
    i, j = pairs[:, 0], pairs[:, 1]
    dx, dy = u[j] - u[i], v[j] - v[i]
    apart = np.hypot(dx, dy)
    area = width * height if window is None else window.area
    masked = window is not None and window.seen is not None
    if masked and correction == "isotropic":
        raise MethodError(
            "The isotropic correction is for a rectangle; for a masked window take the translation correction."
        )
    if correction == "translation":
        common = (width - np.abs(dx)) * (height - np.abs(dy)) if window is None else window.translated(dx, dy)
        weight = 2 * area / common
    elif correction == "isotropic":
        weight = 1 / share_inside(u[i], v[i], apart, width, height) + 1 / share_inside(
            u[j], v[j], apart, width, height
        )
    else:
        weight = np.full(len(apart), 2.0)
    order = np.argsort(apart)
    total = np.concatenate([[0.0], np.cumsum(weight[order])])
    return np.asarray(area / (n * (n - 1)) * total[np.searchsorted(apart[order], r, side="right")])


def ripley_l(k: FloatArray) -> FloatArray:
    """L(r) = (K/π)^½, which is r for points at random."""
    return np.sqrt(np.maximum(k, 0) / math.pi)


def share_inside(x: FloatArray, y: FloatArray, r: FloatArray, width: float, height: float) -> FloatArray:
    """Share of the circle of radius r around each point that lies inside the rectangle."""
    angle = np.zeros_like(r)
    sides = [(width - x), (height - y), x, y]
    safe = np.maximum(r, 1e-300)
    half = [np.arccos(np.clip(side / safe, -1, 1)) * (side < r) for side in sides]
    for h in half:
        angle += 2 * h
    # Arcs beyond two neighbouring sides were taken off twice where the corner lies inside the circle.
    for a in range(4):
        first, second = half[a], half[(a + 1) % 4]
        angle -= np.maximum(first + second - math.pi / 2, 0)
    return np.asarray(np.clip(1 - angle / (2 * math.pi), 0.02, 1.0))
