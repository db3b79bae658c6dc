"""All pairs of means by Welch's t with a family-wise level that holds for small groups.

Every pair is tested by Welch's t at the level for which the true rates of all pairs together,
at the worst variances, come to α (see ``welch_size``): the family-wise error is at most α for
normal values whatever the variances and numbers. Games and Howell's method gains a little power and loses that: with three
to six values a group its family-wise error reaches 7–12 % (docs/choosing.md).

Source: Welch 1947, Biometrika 34:28 (from memory); the family's level is derived in ``welch_size``.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from halfcell.statistics.families import Pair, Pairwise, family
from halfcell.statistics.groups import as_groups
from halfcell.statistics.welch import welch_t
from halfcell.statistics.welch_size import every_pair, family_alpha, family_p

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

NAME = "Welch's t for every pair, family-wise error held"


def welch_pairs(
    groups: Sequence[ArrayLike], level: float = 0.95, *, reference: int | None = None
) -> Pairwise:
    """Simultaneous differences of all pairs of groups, each an (n,) array of 2 or more values.

    With ``reference`` (a position) only the pairs with that group are made. Raises MethodError for smaller groups, or where both groups of a pair have no scatter.
    """
    x = as_groups(groups, few=2)
    numbers = tuple(len(g) for g in x)
    pairs = every_pair(len(x), reference)
    alpha = family_alpha(1 - level, numbers, pairs)

    def one(i: int, j: int) -> Pair:
        test = welch_t(x[i], x[j])
        interval = test.interval(1 - alpha, held=False)
        return Pair(
            first=i,
            second=j,
            difference=test.difference,
            p=family_p(test.p, numbers, pairs),
            low=interval.low,
            high=interval.high,
            different=not interval.low <= 0 <= interval.high,
        )

    return family(len(x), NAME, level, one, reference)


def welch_steps(groups: Sequence[ArrayLike], level: float = 0.95) -> Pairwise:
    """The same tests in Holm's steps: the smallest p is judged among all pairs, the next among the rest.

    The level of each step is held as in ``welch_pairs``, so the family-wise error is too. More pairs may
    be told apart; there are no intervals. Source: Holm 1979, Scand. J. Statist. 6:65 (from memory).
    """
    x = as_groups(groups, few=2)
    numbers = tuple(len(g) for g in x)
    tests = {pair: welch_t(x[pair[0]], x[pair[1]]) for pair in every_pair(len(x))}
    order = sorted(tests, key=lambda pair: tests[pair].p)
    adjusted, so_far = {}, 0.0
    for step, pair in enumerate(order):
        left = tuple(sorted(order[step:]))
        so_far = max(so_far, family_p(tests[pair].p, numbers, left))
        adjusted[pair] = so_far
    nan = float("nan")

    def one(i: int, j: int) -> Pair:
        p = adjusted[i, j]
        return Pair(
            first=i,
            second=j,
            difference=tests[i, j].difference,
            p=p,
            low=nan,
            high=nan,
            different=p <= 1 - level,
        )

    return family(len(x), "Welch's t for every pair in Holm's steps, family-wise error held", level, one)
