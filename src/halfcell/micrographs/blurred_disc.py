"""What a blurred disc looks like: how far its half height shrinks, how much its middle fades.

A disc of radius q (in standard deviations of the blur) has, at distance s from its centre, the
brightness P(χ'²₂(s²) ≤ q²) of its full contrast: the distribution function of a noncentral
chi-squared with two degrees of freedom (one minus Marcum's Q).
"""

from __future__ import annotations

import functools

import numpy as np
from numpy.typing import ArrayLike, NDArray

_SMALLEST = 1.2
"""Below this radius (in σ) the half height of the true contrast is never reached."""


def profile(s: ArrayLike, q: ArrayLike) -> NDArray[np.float64]:
    """Brightness, as a share of the contrast, at distance ``s`` from the centre of a disc of radius ``q`` (both in σ)."""
    from scipy.special import chndtr

    return np.asarray(chndtr(np.square(q), 2.0, np.square(s)), dtype=np.float64)


@functools.cache
def _half_height() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """(radius at half of the true contrast, true radius), both in σ."""
    q = np.linspace(_SMALLEST, 12.0, 400)
    low, high = np.zeros_like(q), q.copy()
    for _ in range(50):
        middle = (low + high) / 2
        above = profile(middle, q) > 0.5
        low, high = np.where(above, middle, low), np.where(above, high, middle)
    return (low + high) / 2, q


def true_radius(half_height: ArrayLike, sigma: float) -> NDArray[np.float64]:
    """Radius of the disc from the radius at half of its true contrast, both in pixels.

    For a large disc this is the shift by curvature σ²/(2r); for one not much larger than the
    blur the exact relation is inverted.
    """
    measured = np.asarray(half_height, dtype=np.float64) / sigma
    seen, true = _half_height()
    small = np.interp(measured, seen, true)
    large = (measured + np.sqrt(measured**2 + 2)) / 2
    return np.where(measured < 11.0, small, large) * sigma


@functools.cache
def _faded() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """(true radius, mean brightness within half of it), radius in σ."""
    q = np.linspace(0.4, 8.0, 300)
    s = np.linspace(0.0, 0.5, 21)
    weight = s / s.sum()
    return q, np.array([float((profile(s * one, one) * weight).sum()) for one in q])


def faded(radius: ArrayLike, sigma: float) -> NDArray[np.float64]:
    """Mean brightness within half the radius of a blurred disc, as a share of its contrast."""
    q, mean = _faded()
    return np.interp(np.asarray(radius, dtype=np.float64) / sigma, q, mean)
