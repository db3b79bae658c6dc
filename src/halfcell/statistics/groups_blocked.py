"""All pairs of means when the same batches (blocks) hold all groups.

Each pair is judged by the differences within batches: what a batch does to all groups alike falls
out, and no variances need to be equal. Student's paired t, Bonferroni's inequality for the family.

Source: any textbook (paired t, Bonferroni).
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Measured, coverage_factor, read_only
from halfcell.statistics.families import Pair, Pairwise, family
from halfcell.statistics.welch_size import every_pair

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

LEAST = 3
"""Batches in common that a pair needs."""


def blocked_pairs(table: ArrayLike, level: float = 0.95, *, reference: int | None = None) -> Pairwise:
    """Simultaneous differences of all pairs of rows of a (groups, blocks) table; nan where not made.

    Raises MethodError where a pair has fewer than 3 blocks in common or no scatter.
    """
    from scipy import special

    x = read_only(table)
    wanted = every_pair(len(x), reference)

    def one(i: int, j: int) -> Pair:
        gap = x[i] - x[j]
        gap = gap[np.isfinite(gap)]
        if len(gap) < LEAST or np.ptp(gap) == 0:
            raise MethodError(
                f"Groups {i + 1} and {j + 1} have {len(gap)} batches in common with scatter; {LEAST} are needed."
            )
        u, df = float(gap.std(ddof=1)) / math.sqrt(len(gap)), len(gap) - 1
        value = float(gap.mean())
        half = coverage_factor(1 - (1 - level) / len(wanted), df) * u
        p = min(1.0, len(wanted) * 2 * float(special.stdtr(df, -abs(value) / u)))
        return Pair(
            first=i,
            second=j,
            difference=Measured(value=value, u=u, df=df),
            p=p,
            low=value - half,
            high=value + half,
            different=abs(value) > half,
        )

    return family(len(x), "Student's t of the differences within batches, Bonferroni", level, one, reference)
