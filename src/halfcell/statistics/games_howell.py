"""Games and Howell's simultaneous pairs without equal variances.

Source: Games & Howell 1976, J. Educ. Stat. 1:113 (from memory; checked against a published
worked result). Welch's statistic against the studentized range.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from halfcell.statistics.families import Pair, Pairwise, family
from halfcell.statistics.groups import as_groups
from halfcell.statistics.tukey import range_pair, range_quantile
from halfcell.statistics.welch import welch_t

if TYPE_CHECKING:
    from numpy.typing import ArrayLike


def games_howell(groups: Sequence[ArrayLike], level: float = 0.95) -> Pairwise:
    """Simultaneous differences of all pairs of groups, each an (n,) array of 2 or more values.

    With fewer than about six values a group its family-wise error exceeds the nominal one
    (docs/choosing.md). Raises MethodError where both groups of a pair have no scatter.
    """
    x = as_groups(groups, few=2)

    def one(i: int, j: int) -> Pair:
        difference = welch_t(x[i], x[j]).difference
        return range_pair(i, j, difference, len(x), range_quantile(level, len(x), difference.df))

    return family(len(x), "Games and Howell", level, one)
