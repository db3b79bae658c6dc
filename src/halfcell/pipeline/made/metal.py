"""The metal on an electrode from all its fields: single particles, and agglomerates between their bounds."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from halfcell.micrographs.agglomerates import agglomerated_metal
from halfcell.micrographs.fields import field_mean
from halfcell.results import Measured, effective_df
from halfcell.units import percent

if TYPE_CHECKING:
    from halfcell.micrographs.surface import Shape
    from halfcell.pipeline.made.field import Field
    from halfcell.results import FloatArray


class PerArea(NamedTuple):
    """Something per area of the surface, and notes on it."""

    measured: Measured
    notes: tuple[str, ...]


class Metal(NamedTuple):
    """Volume of metal (m³/m²) and its exposed area (m²/m²)."""

    volume: PerArea
    metal_area: PerArea


def metal_per_area(fields: list[Field], shape: Shape) -> Metal:
    """The metal of several fields; agglomerates are compared with the single particles of all of them."""
    areas = np.array([f.area for f in fields])
    share = areas / areas.mean()
    particles = np.concatenate([f.diameter for f in fields])
    clumps = [
        agglomerated_metal(f.found.clump_area * f.metres_per_pixel**2, particles, shape=shape) for f in fields
    ]
    volume = np.array([f.surface.volume * f.metres_per_pixel for f in fields])
    metal_area = np.array([f.surface.metal_area for f in fields])
    return Metal(
        volume=_together(share * volume, share * _over([c.volume for c in clumps], areas)),
        metal_area=_together(share * metal_area, share * _over([c.metal_area for c in clumps], areas)),
    )


def _over(values: list[Measured], areas: FloatArray) -> FloatArray:
    """Values and their standard uncertainties (2, fields) per area."""
    return np.asarray(np.array([[v.value for v in values], [v.u for v in values]]) / areas)


def _together(alone: FloatArray, added: FloatArray) -> PerArea:
    """Mean over fields of what single particles (fields,) amount to and agglomerates (2, fields) add.

    The scatter between fields is in the standard error; the agglomerates' height, which may be wrong in one
    direction everywhere, is an uncertainty beside it that more fields do not lessen.
    """
    total = field_mean(alone + added[0])
    middle, doubt = (float(row.mean()) for row in added)
    if doubt <= 0:
        return PerArea(total, ())
    half = math.sqrt(3) * doubt
    low, high = (middle - half) / (total.value - half), (middle + half) / (total.value + half)
    notes = (
        f"agglomerates hold {percent(middle / total.value)} of it ({percent(low)} to {percent(high)}): each is taken as between one "
        "layer as high as the single particles and a dome on its outline, every height between as likely",
    )
    if not math.isfinite(total.u):
        return PerArea(total, notes)
    u, df = math.hypot(total.u, doubt), effective_df([(total.u, total.df), (doubt, math.inf)])
    return PerArea(Measured(value=total.value, u=u, df=df), notes)
