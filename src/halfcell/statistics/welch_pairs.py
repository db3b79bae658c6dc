"""All pairs of means by Welch's t with a family-wise level that holds for small groups.

Every pair is tested by Welch's t at the level for which the true rates of all pairs together,
at the worst variances, come to α (see ``welch_size``): the family-wise error is at most α for
normal values whatever the variances and numbers. Games and Howell's method gains a little power and loses that: with three
to six values a group its family-wise error reaches 7–12 % (docs/choosing.md).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from halfcell.statistics.families import Pair, Pairwise, family, holm_pairs
from halfcell.statistics.groups import as_groups
from halfcell.statistics.welch import welch_t
from halfcell.statistics.welch_size import family_alpha, family_p

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

NAME = "Welch's t for every pair, family-wise error held"


def welch_pairs(
    groups: Sequence[ArrayLike], level: float = 0.95, *, reference: int | None = None
) -> Pairwise:
    """Simultaneous differences of all pairs of groups of 2 or more values.

    With ``reference`` (a position) only the pairs with that group are made. Raises MethodError for smaller groups, or where both groups of a pair have no scatter.
    """
    x = as_groups(groups, few=2)
    numbers = tuple(len(g) for g in x)
    alpha = family_alpha(1 - level, numbers, reference)

    def one(i: int, j: int) -> Pair:
        test = welch_t(x[i], x[j])
        interval = test.interval(1 - alpha, held=False)
        return Pair(
            first=i,
            second=j,
            difference=test.difference,
            p=family_p(test.p, numbers, reference),
            low=interval.low,
            high=interval.high,
            different=not interval.low <= 0 <= interval.high,
        )

    return family(len(x), NAME, level, one, reference)


def welch_holm(groups: Sequence[ArrayLike], level: float = 0.95) -> Pairwise:
    """The same tests with Holm's steps instead of Bonferroni: more claims, no intervals."""
    x = as_groups(groups, few=2)

    def one(i: int, j: int) -> Pair:
        test = welch_t(x[i], x[j])
        nan = float("nan")
        return Pair(
            first=i, second=j, difference=test.difference, p=test.p_held, low=nan, high=nan, different=False
        )

    return holm_pairs(
        family(len(x), "", level, one).pairs, level, "Welch's t for every pair, size held, Holm"
    )
