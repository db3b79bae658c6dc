"""Particles whose middle is darker or brighter than their rim, and what that does to half height."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from halfcell.results import FloatArray


def half_height(dome: float, sigma: float, radius: FloatArray) -> FloatArray:
    """Share of the plateau at which the blurred edge stands (n,): one half, if the particle is evenly bright.

    Brightness that changes towards the edge as 1 + dome·(ρ² − 1) is, at the edge blurred by σ,
    1/2 − dome·(2/π)^½·σ/r.
    """
    return np.asarray(
        0.5 - math.sqrt(2 / math.pi) * dome * np.minimum(sigma / np.maximum(radius, 1e-9), 0.25)
    )


def dome_of(
    mean: FloatArray, t: FloatArray, radius: FloatArray, edge: FloatArray, ground: FloatArray, sigma: float
) -> float:
    """How much darker the middle of the particles is than their edge, as a share of the edge's contrast.

    From the slopes of the mean profiles (n, samples) over the square of the distance, out of the edge's blur; the
    median of the clear candidates of this size, drawn towards 0 where these are few or unlike one another. An image's particles
    share it: one particle alone shows it too poorly.
    """
    chosen = (radius > 7 * sigma) & (np.isfinite(edge).mean(axis=1) > 0.9)
    if not chosen.any():
        return 0.0
    r = radius[chosen][:, None]
    square = (t[chosen] / r) ** 2
    w = np.where(t[chosen] <= r - 2.6 * sigma, t[chosen] + 1e-3, 0.0)
    w /= w.sum(axis=1, keepdims=True)
    light = mean[chosen] - ground[chosen][:, None]
    middle, level = (w * square).sum(axis=1), (w * light).sum(axis=1)
    off = square - middle[:, None]
    slope = (w * off * light).sum(axis=1) / np.maximum((w * off * off).sum(axis=1), 1e-12)
    outer = level + slope * (1 - middle)
    strong = level > 0.5 * np.median(level)
    each = slope[strong] / np.maximum(outer[strong], 0.3 * level[strong])
    dome = float(np.clip(np.median(each), -0.5, 0.5))
    scatter = 1.4826 * float(np.median(np.abs(each - dome)))
    return dome * dome**2 / (dome**2 + scatter**2 + 1e-12) * len(each) / (len(each) + 5)
