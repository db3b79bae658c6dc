"""What the particles of a field amount to: coverage, metal volume and area, gaps."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import read_only

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray

Shape = Literal["sphere", "hemisphere"]
VOLUME = {"sphere": math.pi / 6, "hemisphere": math.pi / 12}
"""Volume over d³."""
EXPOSED_AREA = {"sphere": math.pi, "hemisphere": math.pi / 2}
"""Exposed area over d² (of a hemisphere the dome, without its foot)."""
_NEAR = 41
"""Nearest middles among which the nearest outline is looked for: a large particle may be near though its middle is far."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Surface:
    """Sums over the particles of one field, per area of the frame.

    ``coverage`` (share of the frame under metal), ``volume`` (length: m³ per m²), ``metal_area`` (area
    of metal per area of the frame), ``gap`` (n,) from each outline to the nearest other one, in the
    unit of the diameters. Agglomerates are not among the particles: ``agglomerated_metal`` bounds their metal.
    """

    coverage: float
    volume: float
    metal_area: float
    gap: FloatArray
    shape: str


def surface(
    x: ArrayLike,
    y: ArrayLike,
    diameter: ArrayLike,
    *,
    width: float,
    height: float,
    shape: Shape = "hemisphere",
) -> Surface:
    """Coverage, metal volume and metal area per frame area, for particles of a stated shape.

    Each particle counts with the share of its disc that lies in the frame, so that those cut by
    it count for what is seen. Lengths in one unit, the frame from 0 to ``width`` and ``height``.

    Raises MethodError for a frame without area.
    """
    u, v, d = (np.asarray(a, dtype=np.float64) for a in (x, y, diameter))
    if width <= 0 or height <= 0:
        raise MethodError(f"A frame of {width} × {height} has no area.")
    share = share_in_frame(u, v, d, width, height)
    frame = width * height
    return Surface(
        coverage=float((share * math.pi / 4 * d**2).sum() / frame), volume=float((share * VOLUME[shape] * d**3).sum() / frame),
        metal_area=float((share * EXPOSED_AREA[shape] * d**2).sum() / frame), gap=read_only(gaps(u, v, d)), shape=shape,
    )  # fmt: skip


def share_in_frame(
    x: FloatArray, y: FloatArray, diameter: FloatArray, width: float, height: float
) -> FloatArray:
    """Share of each disc's area inside the frame (product of the shares beyond each side, exact for one side)."""
    r = np.maximum(diameter / 2, 1e-300)

    def beyond(distance: FloatArray) -> FloatArray:
        c = np.clip(distance / r, -1, 1)
        return np.asarray((np.arccos(c) - c * np.sqrt(1 - c * c)) / math.pi)

    across = 1 - beyond(x) - beyond(width - x)
    down = 1 - beyond(y) - beyond(height - y)
    return np.asarray(np.clip(across * down, 0, 1))


def gaps(x: FloatArray, y: FloatArray, diameter: FloatArray) -> FloatArray:
    """Distance from each outline to the nearest other one; 0 in contact, nan where alone."""
    from scipy.spatial import cKDTree

    n = len(x)
    if n < 2:
        return np.full(n, math.nan)
    points = np.column_stack([x, y])
    near, which = cKDTree(points).query(points, k=min(_NEAR, n))
    distance, other = np.asarray(near), np.asarray(which)
    free = distance[:, 1:] - diameter[:, None] / 2 - diameter[other[:, 1:]] / 2
    return np.asarray(np.maximum(free.min(axis=1), 0.0))


def mass_per_area(volume: float, density: float) -> float:
    """Mass of metal per area, kg/m², from the volume per area (m) and the metal's density (kg/m³)."""
    return volume * density
