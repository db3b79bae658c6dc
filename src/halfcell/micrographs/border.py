"""What the frame of an image hides: inclusion weights and an unbiased count."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from halfcell.errors import MethodError
from halfcell.micrographs.circles import arc_of
from halfcell.results import read_only

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from halfcell.results import FloatArray


class Middles(NamedTuple):
    """Middles (n,) of particles, pixels; not a number where they lie outside and it is not known where."""

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
    A middle that is not a number lies outside.

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
    is seen, the middle of what is seen lies inside the image where that of the particle does not. Where the edge is no
    arc the particle keeps its middle, but what is less than half as wide as the particles that the frame does not cut
    (their median) is a slice, of which the middle lies outside: not a number. Half a particle and more would be at least 0.7
    times as wide as the whole.
    """
    u, v = np.array(x, dtype=float), np.array(y, dtype=float)
    d, off = np.asarray(diameter, dtype=float), np.asarray(cut) > 0.5
    usual = float(np.median(d[~off])) if (~off).any() else 0.0
    for i in np.flatnonzero(off):
        arc = arc_of(outline[first[i] : first[i + 1]], (round(height), round(width)))
        if arc is not None and 0.4 * d[i] < arc.radius < 2 * d[i]:
            u[i], v[i] = arc.x, arc.y
        elif d[i] < 0.5 * usual:
            u[i] = v[i] = np.nan
    return Middles(read_only(u), read_only(v))


def extents(outline: NDArray[np.float32], first: NDArray[np.int64]) -> NDArray[np.float64]:
    """Width and height (n, 2) of each outline, pixels."""
    n = len(first) - 1
    out = np.zeros((n, 2))
    for i in range(n):
        if first[i + 1] > first[i]:
            out[i] = np.ptp(outline[first[i] : first[i + 1]], axis=0)
    return out
