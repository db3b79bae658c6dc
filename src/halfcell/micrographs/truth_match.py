"""Truth and detection of a synthetic micrograph beside each other."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.results import read_only

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.micrographs.truth import SyntheticMicrograph
    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Match:
    """How many of the particles with their centre in the frame were ``found``, ``missed``, and invented (``false``);
    true and measured diameters (found,) of the found and true ones (missed,) of the missed, in pixels."""

    found: int
    missed: int
    false: int
    true_diameter: FloatArray
    diameter: FloatArray
    missed_diameter: FloatArray

    @property
    def f1(self) -> float:
        """Harmonic mean of the shares found and true; 1 where there is nothing and nothing was found."""
        total = 2 * self.found + self.missed + self.false
        return 2 * self.found / total if total else 1.0

    @property
    def bias(self) -> float:
        """Relative deviation of the mean diameter."""
        return float(self.diameter.mean() / self.true_diameter.mean() - 1) if self.found else math.nan

    @property
    def spread_bias(self) -> float:
        """Relative deviation of the standard deviation of the diameters."""
        return float(self.diameter.std() / self.true_diameter.std() - 1) if self.found > 1 else math.nan


def match(made: SyntheticMicrograph, x: ArrayLike, y: ArrayLike, diameter: ArrayLike) -> Match:
    """Pair truth and detection: a particle is found where a centre lies within a quarter of its diameter.

    Asked of the particles whose centre lies in the frame. What is seen of a particle centred outside
    is neither found nor false.
    """
    from scipy.optimize import linear_sum_assignment

    u, v, d = (np.asarray(a, dtype=np.float64) for a in (x, y, diameter))
    rows, columns = made.pixels.shape[0] - made.bar_rows, made.pixels.shape[1]
    there = (made.x > -0.5) & (made.y > -0.5) & (made.x < columns - 0.5) & (made.y < rows - 0.5)
    seen = (u > -0.5) & (v > -0.5) & (u < columns - 0.5) & (v < rows - 0.5)
    tx, ty, td = made.x[there], made.y[there], made.diameter[there]
    u, v, d = u[seen], v[seen], d[seen]
    if not len(tx) or not len(u):
        return Match(
            found=0, missed=len(tx), false=len(u), true_diameter=read_only([]), diameter=read_only([]),
            missed_diameter=read_only(td),
        )  # fmt: skip
    apart = np.hypot(tx[:, None] - u, ty[:, None] - v)
    cost = np.where(apart < np.maximum(td[:, None], 6) / 4, apart, 1e6)
    i, j = linear_sum_assignment(cost)
    good = cost[i, j] < 1e5
    n = int(good.sum())
    out = ~there
    seen_of = (
        np.hypot(made.x[out][:, None] - u, made.y[out][:, None] - v) < made.diameter[out][:, None] / 2 + 1
    )
    edge = seen_of.any(axis=0) if out.any() else np.zeros(len(u), dtype=bool)
    edge[j[good]] = False
    return Match(
        found=n,
        missed=len(tx) - n,
        false=len(u) - n - int(edge.sum()),
        true_diameter=read_only(td[i[good]]),
        diameter=read_only(d[j[good]]),
        missed_diameter=read_only(np.delete(td, i[good])),
    )
