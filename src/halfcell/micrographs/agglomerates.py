"""The metal in agglomerates, between one layer of particles and a heap as high as a dome."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.micrographs.surface import EXPOSED_AREA, VOLUME, Shape
from halfcell.results import Measured

if TYPE_CHECKING:
    from numpy.typing import ArrayLike


@dataclass(frozen=True, slots=True, kw_only=True)
class AgglomeratedMetal:
    """Bounds of the volume (unit³) and of the exposed area (unit²) of the metal in agglomerates,
    and their middles as ``volume`` and ``metal_area`` with the standard uncertainty (high − low)/12^½."""

    volume_low: float
    volume_high: float
    metal_area_low: float
    metal_area_high: float

    @property
    def volume(self) -> Measured:
        """Middle of the bounds with the uncertainty of a rectangular distribution."""
        return _middle(self.volume_low, self.volume_high)

    @property
    def metal_area(self) -> Measured:
        """Middle of the bounds with the uncertainty of a rectangular distribution."""
        return _middle(self.metal_area_low, self.metal_area_high)


def agglomerated_metal(
    area: ArrayLike, diameter: ArrayLike, *, shape: Shape = "hemisphere"
) -> AgglomeratedMetal:
    """Bounds of the metal in agglomerates of which an image shows the outline, not the height.

    Parameters
    ----------
    area : (m,) array, projected areas of the agglomerates.
    diameter : (n,) array, diameters of the single particles beside them, in the unit whose square the areas are in.
    shape : of the single particles.

    Notes
    -----
    The lower bound is one layer as high on average as the single particles: area × Σ volumes / Σ projected areas
    of these. The upper bound is a solid dome, the hemisphere on a disc of the agglomerate's area: area × D/3.
    (For an agglomerate no larger than the particles they may change places.) The exposed area is the
    volume times the exposed area per volume of the single particles: that of the layer at one end, at the other of a
    dome full of particles all of which are reached. Without single particles the volume is bounded by 0 and the dome, and
    the area by a flat plate and the dome's skin. Nothing in a view from above says where between its bounds the truth
    lies, so a rectangular distribution is taken (GUM 4.3.7). All agglomerates of a study may err in the same
    direction, so the bounds are added and not averaged out.

    References
    ----------
    JCGM 100:2008 (GUM), 4.3.7; the bounds are geometry and common practice, no source.
    """
    a = np.asarray(area, dtype=np.float64)
    d = np.asarray(diameter, dtype=np.float64)
    dome = a * 2 * np.sqrt(a / math.pi) / 3
    if not len(d):
        return AgglomeratedMetal(
            volume_low=0.0, volume_high=float(dome.sum()), metal_area_low=float(a.sum()), metal_area_high=float(2 * a.sum()),
        )  # fmt: skip
    volume = float((VOLUME[shape] * d**3).sum())
    layer = a * volume / float((math.pi / 4 * d**2).sum())
    per_volume = float((EXPOSED_AREA[shape] * d**2).sum()) / volume
    low, high = float(np.minimum(layer, dome).sum()), float(np.maximum(layer, dome).sum())
    return AgglomeratedMetal(
        volume_low=low, volume_high=high, metal_area_low=low * per_volume, metal_area_high=high * per_volume
    )


def _middle(low: float, high: float) -> Measured:
    return Measured(value=(low + high) / 2, u=(high - low) / math.sqrt(12))
