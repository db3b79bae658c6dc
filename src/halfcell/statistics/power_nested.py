"""Power of a comparison with fields within electrodes within batches, by simulation.

Source: common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from halfcell.errors import MethodError


@dataclass(frozen=True, slots=True, kw_only=True)
class NestedDesign:
    """How many of what a group has, and how much each level scatters (standard deviations).

    The independent values are batches where there are two or more, else electrodes.
    """

    batches: int = 1
    electrodes: int = 3
    """A batch."""
    fields: int = 1
    """An electrode."""
    between_batches: float = 0.0
    between_electrodes: float
    within_electrodes: float = 0.0

    @property
    def units(self) -> int:
        """Independent values a group."""
        return self.batches if self.batches > 1 else self.electrodes

    @property
    def scatter(self) -> float:
        """Standard deviation of one independent value."""
        electrode = self.between_electrodes**2 + self.within_electrodes**2 / self.fields
        return (
            math.sqrt(self.between_batches**2 + electrode / self.electrodes)
            if self.batches > 1
            else math.sqrt(electrode)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class NestedPower:
    """Chance to see the difference, with its standard uncertainty from ``count`` simulated studies."""

    power: float
    u: float
    count: int
    design: NestedDesign


def nested_power(
    difference: float,
    design: NestedDesign,
    rng: np.random.Generator,
    *,
    alpha: float = 0.05,
    count: int = 4000,
) -> NestedPower:
    """Simulate two groups of a design every level of which scatters, and test them as they would be.

    Welch's t of the independent values at the nominal level ``alpha``. With one batch a group the
    scatter between batches is not seen by the test; it is in the simulation and costs its error rate.
    Raises MethodError for fewer than two independent values or no scatter.
    """
    if design.units < 2 or not design.scatter > 0:
        raise MethodError(
            f"Power needs two or more independent values a group ({design.units} here) and some scatter."
        )
    from scipy import special

    shape = (count, 2, design.batches, design.electrodes)
    values = rng.normal(0.0, 1.0, (count, 2, design.batches, 1)) * design.between_batches
    values = values + rng.normal(0.0, 1.0, shape) * design.between_electrodes
    values = values + rng.normal(0.0, 1.0, shape) * design.within_electrodes / math.sqrt(design.fields)
    units = values.mean(axis=3) if design.batches > 1 else values[:, :, 0, :]
    part = units.var(axis=2, ddof=1) / design.units
    gap = units.mean(axis=2) @ np.array([1.0, -1.0]) + difference
    df = part.sum(axis=1) ** 2 / (part**2 / (design.units - 1)).sum(axis=1)
    p = 2 * special.stdtr(df, -np.abs(gap) / np.sqrt(part.sum(axis=1)))
    power = float((p <= alpha).mean())
    return NestedPower(
        power=power, u=math.sqrt(max(power * (1 - power), 1 / count) / count), count=count, design=design
    )
