"""Rank tests, and the smallest p value that so few values could give.

Sources: Kruskal & Wallis 1952, J. Am. Stat. Assoc. 47:583; Mann & Whitney 1947, Ann. Math.
Stat. 18:50 (from memory; computed by scipy.stats).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.results import Measured
from halfcell.statistics.families import Pair, Pairwise, family, holm_pairs
from halfcell.statistics.groups import as_groups

if TYPE_CHECKING:
    from numpy.typing import ArrayLike


@dataclass(frozen=True, slots=True, kw_only=True)
class RankTest:
    """A rank test over all groups: Kruskal and Wallis' H and its p value."""

    h: float
    df: int
    p: float


def kruskal_wallis(groups: Sequence[ArrayLike]) -> RankTest:
    """Test that several groups, (n,) arrays, come from one distribution, from ranks alone."""
    from scipy import stats

    x = as_groups(groups, least=1, few=2)
    if len(set(np.concatenate(x).tolist())) == 1:
        return RankTest(h=0.0, df=len(x) - 1, p=1.0)
    result = stats.kruskal(*x)
    return RankTest(h=float(result.statistic), df=len(x) - 1, p=float(result.pvalue))


def smallest_p(n1: int, n2: int) -> float:
    """The smallest two-sided p value that ranks of ``n1`` and ``n2`` values can give."""
    return min(1.0, 2 / math.comb(n1 + n2, n1))


def rank_pairs(groups: Sequence[ArrayLike], level: float = 0.95) -> Pairwise:
    """Mann and Whitney's test for every pair of groups, (n,) arrays, adjusted by Holm. Differences are of medians."""
    from scipy import stats

    x = as_groups(groups, least=1, few=2)
    nan = float("nan")

    def one(i: int, j: int) -> Pair:
        tied = len(set(np.concatenate([x[i], x[j]]).tolist())) < len(x[i]) + len(x[j])
        p = float(stats.mannwhitneyu(x[i], x[j], method="asymptotic" if tied else "exact").pvalue)
        difference = Measured(
            value=float(np.median(x[i]) - np.median(x[j])), why="a rank test gives no uncertainty"
        )
        return Pair(
            first=i, second=j, difference=difference, p=min(p, 1.0), low=nan, high=nan, different=False
        )

    pairs = family(len(x), "", level, one).pairs
    return holm_pairs(pairs, level, "Mann and Whitney for every pair, Holm")
