"""Curves thinned for drawing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.results import read_only

if TYPE_CHECKING:
    from halfcell.results import FloatArray

SHOWN = 700
"""Points kept of each trace for drawing."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Trace:
    """A thinned curve for drawing: ``potential`` V, ``current`` A."""

    potential: FloatArray
    current: FloatArray


def thin(potential: FloatArray, current: FloatArray, most: int = SHOWN) -> Trace:
    """At most ``most`` points of a curve, each the mean of its neighbours."""
    e, i = np.asarray(potential, float), np.asarray(current, float)
    block = max(-(-e.size // most), 1)
    if block == 1:
        return Trace(potential=read_only(e), current=read_only(i))
    n = e.size // block
    return Trace(
        potential=read_only(e[: n * block].reshape(n, block).mean(1)),
        current=read_only(i[: n * block].reshape(n, block).mean(1)),
    )
