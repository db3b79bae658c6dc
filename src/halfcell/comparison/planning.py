"""How many electrodes or batches are needed where each has several values: by simulation.

The exact power counts independent values of the present scatter. Where an independent value is a mean
(of fields, of repeats, of the electrodes of a batch), the simulation has every level scatter by itself, so
that it can also tell what more values below would do.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from halfcell.comparison.result import NestedNeed
from halfcell.errors import MethodError
from halfcell.statistics.power_nested import NestedDesign, nested_power

if TYPE_CHECKING:
    from halfcell.comparison.samples import Group

COUNT = 2000
"""Simulated studies a design: a standard uncertainty of 0.9 % at a chance of 80 %."""
MOST = 100
"""Independent values a group beyond which nothing is simulated: there the exact power serves."""


def nested_need(
    groups: Sequence[Group], sought: float, alpha: float, exact: int | None, *, batches: bool
) -> NestedNeed | None:
    """Independent values a group needed to see ``sought`` with a chance of 80 %; None where nothing is nested.

    ``groups`` are the two of a pair; ``exact`` is what the exact power gives, near which is sought.
    The scatter is pooled over both groups. None also where the exact number is above 100 or unknown, or a
    level's scatter cannot be estimated.
    """
    parts = [s.parts for g in groups for s in g.samples]
    if exact is None or exact > MOST or not math.isfinite(sought) or min(len(p) for p in parts) < 1:
        return None
    free = sum(len(p) - 1 for p in parts)
    if free == 0:
        return None
    below = math.sqrt(sum(float(((p - p.mean()) ** 2).sum()) for p in parts) / free)
    each = len(parts) / sum(1 / len(p) for p in parts)
    inside = max(round(each), 1)
    own = [np.array([p.mean() for p in (s.parts for s in g.samples)]) for g in groups]
    spread = sum(float(((o - o.mean()) ** 2).sum()) for o in own) / max(sum(len(o) - 1 for o in own), 1)
    between = math.sqrt(max(spread - below**2 / each, 0.0))
    if not (spread > 0 and math.isfinite(spread)):
        return None
    # In units of the scatter, rounded: the same design is simulated once.
    scale = math.sqrt(between**2 + below**2 / inside)
    if not scale > 0:
        return None
    shape = tuple(float(f"{v / scale:.4g}") for v in (sought, between, below))
    now = _needed(*shape, inside, float(f"{alpha:.4g}"), exact, batches)
    more = _needed(*shape, 2 * inside, float(f"{alpha:.4g}"), exact, batches)
    return NestedNeed(needed=now, inside=inside, needed_twice=more, between=between, below=below)


@functools.lru_cache(maxsize=256)
def _needed(
    sought: float, between: float, below: float, inside: int, alpha: float, near: int, batches: bool
) -> int | None:
    """The smallest number a group whose simulated chance is 80 %, with one seed for all."""

    def enough(n: int) -> bool:
        design = (
            NestedDesign(batches=n, electrodes=inside, between_batches=between, between_electrodes=below)
            if batches
            else NestedDesign(
                electrodes=n, fields=inside, between_electrodes=between, within_electrodes=below
            )
        )
        try:
            found = nested_power(sought, design, np.random.default_rng(0), alpha=alpha, count=COUNT)
        except MethodError:
            return False
        return found.power >= 0.8

    low, high = 1, max(near, 2)
    while not enough(high):
        low, high = high, 2 * high
        if high > 2 * MOST:
            return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high
