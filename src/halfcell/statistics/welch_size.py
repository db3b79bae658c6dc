"""The true size of Welch's t test and of a family of them, and the level that holds it.

Welch's statistic is compared with Student's t at estimated degrees of freedom. With three to
six values a group the rejection rate under the null can be well above the nominal one (6.8 % for
5 % with 3 and 6 values when the three scatter more; twice the nominal one at the small levels
that a family needs). Given the share B of one group in the sum of both sums of squares, the
statistic is Student's t with ν₁ + ν₂ degrees of freedom up to a known factor, so the true rate is
a one-dimensional integral over the beta distribution of B for each ratio of the true variances.
For a family the rates of all pairs are added (Bonferroni's inequality) at the variances for which
their sum is largest: whatever the variances, normal values are then wrongly told apart at most at
the stated rate.

Source: statistic and degrees of freedom, Welch 1938, 1947 (Biometrika 29:350, 34:28; from
memory); the integral and its least favourable case are derived here and checked by simulation.
"""

from __future__ import annotations

import functools
import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from halfcell.results import FloatArray

Pairs = tuple[tuple[int, int], ...]

_NODES = 96
_REACH = 24
_STEP = 0.5
_LOGITS = _STEP * np.arange(-_REACH, _REACH + 1)
"""ln of the ratio of the two true variances of the means."""
_SHARES = 1.0 / (1.0 + np.exp(-_LOGITS))


@functools.lru_cache(maxsize=256)
def _ground(n1: int, n2: int) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Weights over B (nodes,), degrees of freedom and factor (shares, nodes)."""
    from scipy import special

    v1, v2 = n1 - 1, n2 - 1
    x, w = special.roots_jacobi(_NODES, v2 / 2 - 1, v1 / 2 - 1)
    b = (x + 1) / 2
    first = _SHARES[:, None] * b / v1
    second = (1 - _SHARES)[:, None] * (1 - b) / v2
    df = (first + second) ** 2 / (first**2 / v1 + second**2 / v2)
    return w / w.sum(), df, np.sqrt((v1 + v2) * (first + second))


@functools.lru_cache(maxsize=4096)
def true_rates(p: float, n1: int, n2: int) -> FloatArray:
    """Chance of a nominal p at most ``p`` under the null, for a grid of variance ratios.

    ``n1`` and ``n2`` (2 or more) are the numbers of values. Returns (49,) array of probabilities;
    the ratio of the first to the second mean's variance rises from e^-12 to e^12.
    """
    from scipy import special

    w, df, factor = _ground(n1, n2)
    bound = -special.stdtrit(df, p / 2) * factor
    rates: FloatArray = (2 * special.stdtr(n1 + n2 - 2, -bound)) @ w
    return np.maximum(rates, 0.0)


def corrected_p(p: float, n1: int, n2: int) -> float:
    """The largest chance, over all variance ratios, of a nominal p at most ``p``."""
    return family_p(p, (n1, n2))


@functools.lru_cache(maxsize=8192)
def family_p(p: float, numbers: tuple[int, ...], pairs: Pairs | None = None) -> float:
    """Largest chance, over all variances, that any pair of groups has a nominal p at most ``p``.

    ``numbers`` holds the number of values of each group (2 or more); ``pairs`` those that count (all
    by default). An upper bound by Bonferroni's inequality; exact for two groups.
    """
    k = len(numbers)
    if not 0 < p < 1:
        return p
    pairs = every_pair(k) if pairs is None else pairs
    rates = {pair: true_rates(p, numbers[pair[0]], numbers[pair[1]]) for pair in pairs}
    best = float(_ascend(rates, k, np.array(_starts(k))).max())
    return float(min(1.0, max(best, p * len(pairs))))


def every_pair(k: int, reference: int | None = None) -> Pairs:
    """Positions of all pairs of ``k`` groups, or of those with ``reference`` only."""
    return tuple(
        (i, j) for i in range(k) for j in range(i + 1, k) if reference is None or reference in (i, j)
    )


def _starts(k: int) -> list[list[int]]:
    """Variances to begin the search at (steps of the grid): one precise, one coarse, a ladder."""
    if k == 2:
        return [[0, 0]]
    one = [[-6 if g == odd else 0 for g in range(k)] for odd in range(k)]
    two = [[6 if g == odd else 0 for g in range(k)] for odd in range(k)]
    return [*one, *two, [3 * g for g in range(k)], [-3 * g for g in range(k)]]


def _ascend(rates: dict[tuple[int, int], FloatArray], k: int, starts: NDArray[np.int_]) -> FloatArray:
    """The sum of rates from each start (m, k), made as large as it gets by moving one group's variance at a time."""
    place = starts.copy()
    moves = np.arange(-_REACH, _REACH + 1)
    best = np.full(len(place), -1.0)
    rising = np.arange(len(place))
    for _ in range(8):
        at = place[rising]
        for g in range(k):
            total = np.zeros((len(rising), len(moves)))
            for h in range(k):
                if (h, g) in rates:
                    total += _at(rates[h, g], at[:, h, None] - moves)
                elif (g, h) in rates:
                    total += _at(rates[g, h], moves - at[:, h, None])
            at[:, g] = moves[np.argmax(total, axis=1)]
        place[rising] = at
        reached = np.zeros(len(rising))
        for (i, j), rate in rates.items():
            reached += _at(rate, at[:, i] - at[:, j])
        more = reached > best[rising] * (1 + 1e-9)
        rising = rising[more]
        best[rising] = reached[more]
        if not len(rising):
            break
    return best


def _at(rates: FloatArray, steps: NDArray[np.int_]) -> FloatArray:
    out: FloatArray = rates[np.clip(steps + _REACH, 0, 2 * _REACH)]
    return out


@functools.lru_cache(maxsize=1024)
def family_alpha(alpha: float, numbers: tuple[int, ...], pairs: Pairs | None = None) -> float:
    """The nominal level of each pair for which ``family_p`` is ``alpha``."""
    from scipy import optimize

    high = math.log(alpha / len(every_pair(len(numbers)) if pairs is None else pairs))

    def off(log_p: float) -> float:
        return math.log(family_p(math.exp(log_p), numbers, pairs)) - math.log(alpha)

    if off(high) <= 1e-9:
        return math.exp(high)
    low = high - 2.0
    while off(low) > 0:
        low -= 4.0
    return math.exp(float(optimize.brentq(off, low, high, xtol=1e-4)))
