"""Exact search for changes of the mean, held to a general library and to brute force."""

from __future__ import annotations

from itertools import combinations, pairwise

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.signals.change_points import mean_changes


def _record(seed: int, n: int) -> np.ndarray:
    rng = np.random.default_rng(seed)
    edges = np.sort(rng.choice(np.arange(5, n - 5), size=rng.integers(1, 6), replace=False))
    levels = rng.normal(0, 3, edges.size + 1)
    return np.repeat(levels, np.diff(np.concatenate([[0], edges, [n]]))) + rng.standard_normal(n)


@pytest.mark.reference(
    "Changes of the mean are as good as those of an exact dynamic programme",
    "ruptures (general library)",
    "recomputed",
)
@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("least", [2, 5])
def test_agrees_with_a_general_library(seed: int, least: int) -> None:
    ruptures = pytest.importorskip("ruptures")
    y = _record(seed, 120)
    penalty = 3.0 * np.log(y.size)
    theirs = ruptures.Dynp(model="l2", min_size=least, jump=1).fit(y)

    def total(cuts: list[int]) -> float:
        return float(theirs.cost.sum_of_costs(cuts)) + penalty * (len(cuts) - 1)

    best = min([total(theirs.predict(n_bkps=k)) for k in range(1, 7)] + [total([y.size])])
    ours = total([*mean_changes(y, penalty=penalty, least=least), y.size])
    assert ours == pytest.approx(best, rel=1e-9)


@pytest.mark.parametrize("seed", range(6))
def test_no_division_is_better(seed: int) -> None:
    y = _record(seed, 24)

    def total(cuts: tuple[int, ...]) -> float:
        parts = [y[a:b] for a, b in pairwise((0, *cuts, y.size))]
        if min(p.size for p in parts) < 3:
            return float("inf")
        return sum(float(((p - p.mean()) ** 2).sum()) for p in parts) + 4.0 * len(cuts)

    ours = mean_changes(y, penalty=4.0, least=3)
    everything = min(total(c) for k in range(5) for c in combinations(range(1, 24), k))
    assert total(ours) <= everything + 1e-9


def test_steady_records_have_no_change() -> None:
    assert mean_changes(np.ones(50), penalty=1.0) == ()
    assert mean_changes([1.0, 2.0], penalty=0.1, least=2) == ()


def test_a_record_that_is_not_finite_is_refused() -> None:
    with pytest.raises(MethodError, match="finite"):
        mean_changes([1.0, np.nan, 2.0, 3.0], penalty=1.0)
