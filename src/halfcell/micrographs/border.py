"""What the frame of an image hides: inclusion weights and an unbiased count."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import read_only

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from halfcell.results import FloatArray


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


def count(x: ArrayLike, y: ArrayLike, diameter: ArrayLike, *, width: float, height: float) -> Counted:
    """Particles that belong to a frame: those cut by its left or upper side count, by the others not.

    A particle is taken as its disc; the frame reaches from −1/2 to ``width`` − 1/2 pixels. Each
    particle of an endless surface tiled by such frames is counted in exactly one of them, so the
    count per area is unbiased whatever the sizes.

    References
    ----------
    Gundersen (1977) J. Microsc. 111, 219, unbiased counting frame (from memory).
    """
    u, v, r = np.asarray(x, dtype=float), np.asarray(y, dtype=float), np.asarray(diameter, dtype=float) / 2
    if width <= 0 or height <= 0:
        raise MethodError(f"A frame of {width} × {height} pixels has no area to count on.")
    in_frame = (u + r > -0.5) & (v + r > -0.5) & (u - r < width - 0.5) & (v - r < height - 0.5)
    refused = (u + r >= width - 0.5) | (v + r >= height - 0.5)
    counted = in_frame & ~refused
    return Counted(number=int(counted.sum()), area=float(width * height), counted=read_only(counted))


def extents(outline: NDArray[np.float32], first: NDArray[np.int64]) -> NDArray[np.float64]:
    """Width and height (n, 2) of each outline, pixels."""
    n = len(first) - 1
    out = np.zeros((n, 2))
    for i in range(n):
        if first[i + 1] > first[i]:
            out[i] = np.ptp(outline[first[i] : first[i + 1]], axis=0)
    return out
