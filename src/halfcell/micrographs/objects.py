"""Particles in contact taken as one object, for questions about arrangement."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from halfcell.results import FloatArray

__all__ = ["Objects", "together"]


class Objects(NamedTuple):
    """Centres and diameters (n,) of objects."""

    x: FloatArray
    y: FloatArray
    diameter: FloatArray


def together(x: FloatArray, y: FloatArray, diameter: FloatArray, group: FloatArray) -> Objects:
    """Each group of particles in contact as one object: the middle of its area, the diameter of its area.

    ``group`` (n,) numbers the groups, −1 for a particle that stands alone. Contact is a question of
    growth and drying at short range; whether things are spread evenly is asked of the objects.
    """
    group = np.asarray(group)
    number = np.where(group >= 0, group, group.max(initial=-1) + 1 + np.arange(len(group))).astype(int)
    _, index = np.unique(number, return_inverse=True)
    area = diameter**2
    total = np.bincount(index, weights=area)
    return Objects(
        x=np.bincount(index, weights=area * x) / total,
        y=np.bincount(index, weights=area * y) / total,
        diameter=np.sqrt(total),
    )
