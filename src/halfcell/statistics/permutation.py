"""Permutation of group labels: exact for few values, no assumption about their distribution.

Source: Fisher 1935; the studentised statistic of Janssen 1997, Stat. Probab. Lett. 36:9, keeps
the level for unequal variances in larger groups (both from memory).
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.statistics.families import Pair, Pairwise, family, holm_pairs
from halfcell.statistics.groups import as_groups, need_scatter
from halfcell.statistics.welch import welch_t

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray

_MOST = 20_000


@dataclass(frozen=True, slots=True, kw_only=True)
class PermutationTest:
    """Two-sided p of Welch's t over ``count`` relabelings; ``smallest`` is the least p possible."""

    p: float
    count: int
    exact: bool
    smallest: float


def permutation_test(first: ArrayLike, second: ArrayLike, rng: np.random.Generator) -> PermutationTest:
    """Test two groups, (n,) arrays of 2 or more values; all relabelings where at most 20,000, else that many random ones.

    Raises MethodError for smaller groups and where nothing scatters.
    """
    a, b = as_groups([first, second])
    need_scatter(np.array([np.var(np.concatenate([a, b]))]))
    pool, n = np.concatenate([a, b]), len(a)
    total = math.comb(len(pool), n)
    exact = total <= _MOST
    if exact:
        chosen = np.array(list(itertools.combinations(range(len(pool)), n)))
    else:
        chosen = np.array([rng.permutation(len(pool))[:n] for _ in range(_MOST - 1)])
    seen = _statistic(pool[None, :n], pool[None, n:])[0]
    left = np.ones((len(chosen), len(pool)), dtype=bool)
    left[np.arange(len(chosen))[:, None], chosen] = False
    others = _statistic(pool[chosen], np.broadcast_to(pool, left.shape)[left].reshape(len(chosen), -1))
    at_least = int(np.sum(others >= seen * (1 - 1e-12)))
    p = at_least / total if exact else (at_least + 1) / (len(chosen) + 1)
    least = (2 if len(a) == len(b) else 1) / total
    return PermutationTest(p=p, count=len(chosen), exact=exact, smallest=least if exact else 1 / _MOST)


def _statistic(a: FloatArray, b: FloatArray) -> FloatArray:
    variance = a.var(axis=1, ddof=1) / a.shape[1] + b.var(axis=1, ddof=1) / b.shape[1]
    gap = np.abs(a.mean(axis=1) - b.mean(axis=1))
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(variance > 0, gap / np.sqrt(variance), np.where(gap > 0, np.inf, 0.0))


def permutation_pairs(groups: Sequence[ArrayLike], level: float, rng: np.random.Generator) -> Pairwise:
    """Every pair of groups, (n,) arrays, by permutation, adjusted by Holm."""
    x = as_groups(groups, few=2)
    nan = float("nan")

    def one(i: int, j: int) -> Pair:
        p = permutation_test(x[i], x[j], rng).p
        return Pair(
            first=i,
            second=j,
            difference=welch_t(x[i], x[j]).difference,
            p=p,
            low=nan,
            high=nan,
            different=False,
        )

    return holm_pairs(
        family(len(x), "", level, one).pairs, level, "Permutation of electrodes for every pair, Holm"
    )
