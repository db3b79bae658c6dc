"""What the frame of an image hides: inclusion weights and an unbiased count."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import read_only

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from halfcell.results import FloatArray


class Middles(NamedTuple):
    """Middles (n,) of particles, pixels."""

    x: FloatArray
    y: FloatArray


def inclusion_probability(
    feret_x: ArrayLike, feret_y: ArrayLike, *, width: float, height: float
) -> FloatArray:
    """Chance that a particle anywhere in reach lies wholly inside the frame.

    P = (Z_x − F_x)(Z_y − F_y)/(Z_x Z_y), with the frame's sides Z and the particle's extents F in
    the same unit; 0 for a particle that does not fit. A distribution of sizes is corrected for the
    particles cut by the frame by the weight 1/P.

    References
    ----------
    Miles (1974) and Lantuéjoul (1980), as in ISO 13322-1 (from memory; formula recomputed).
    """
    x = np.clip(1 - np.asarray(feret_x, dtype=np.float64) / width, 0, 1)
    y = np.clip(1 - np.asarray(feret_y, dtype=np.float64) / height, 0, 1)
    return read_only(x * y)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Counted:
    """``number`` of particles that belong to the frame's ``area`` (pixels²); ``counted`` (n,) 1 for those."""

    number: int
    area: float
    counted: FloatArray


def count(x: ArrayLike, y: ArrayLike, *, width: float, height: float) -> Counted:
    """Particles that belong to a frame: those whose middle lies in it.

    The frame reaches from −1/2 to ``width`` − 1/2 pixels. Each particle of an endless surface tiled by such
    frames is counted in exactly one of them, so the count per area is unbiased whatever the sizes. Of a
    particle cut by the frame take the middle from ``middles``; slices
    too thin to be found have their middle outside and do not matter, as they would where all that one side cuts is counted.

    References
    ----------
    Associated-point rule of stereology (from memory); checked by tiling and on synthetic images.
    """
    u, v = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    if width <= 0 or height <= 0:
        raise MethodError(f"A frame of {width} × {height} pixels has no area to count on.")
    counted = (u >= -0.5) & (v >= -0.5) & (u < width - 0.5) & (v < height - 0.5)
    return Counted(number=int(counted.sum()), area=float(width * height), counted=read_only(counted))


def middles(
    x: ArrayLike,
    y: ArrayLike,
    diameter: ArrayLike,
    cut: ArrayLike,
    outline: NDArray[np.float32],
    first: NDArray[np.int64],
    *,
    width: float,
    height: float,
) -> Middles:
    """Middles of particles for counting: of those cut by the frame, of the circle through the edge that is seen.

    Outlines lie one after another in ``outline`` (m, 2), that of particle i from ``first[i]``. Of a particle of which a slice
    is seen, the middle of what is seen lies inside the image where that of the particle does not. The circle is that of
    least squares of the algebraic distance; where the edge is no arc the particle keeps its middle.
    """
    u, v = np.array(x, dtype=float), np.array(y, dtype=float)
    d = np.asarray(diameter, dtype=float)
    for i in np.flatnonzero(np.asarray(cut) > 0.5):
        points = outline[first[i] : first[i + 1]].astype(np.float64)
        free = ((points > 1.5) & (points < np.array([width - 2.5, height - 2.5]))).all(axis=1)
        if free.sum() < 8:
            continue
        arc = points[free]
        origin = arc.mean(axis=0)
        p, q = (arc - origin).T
        a, b, c = np.linalg.lstsq(
            np.column_stack([2 * p, 2 * q, np.ones_like(p)]), p * p + q * q, rcond=None
        )[0]
        radius = math.sqrt(max(float(c + a * a + b * b), 0.0))
        off = float(np.sqrt(((np.hypot(p - a, q - b) - radius) ** 2).mean()))
        if off <= max(0.05 * radius, 0.5) and 0.4 * d[i] < radius < 2 * d[i]:
            u[i], v[i] = origin[0] + a, origin[1] + b
    return Middles(read_only(u), read_only(v))


def extents(outline: NDArray[np.float32], first: NDArray[np.int64]) -> NDArray[np.float64]:
    """Width and height (n, 2) of each outline, pixels."""
    n = len(first) - 1
    out = np.zeros((n, 2))
    for i in range(n):
        if first[i + 1] > first[i]:
            out[i] = np.ptp(outline[first[i] : first[i + 1]], axis=0)
    return out
