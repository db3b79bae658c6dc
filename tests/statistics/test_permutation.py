"""Permutation, and several groups against one reference."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from halfcell.errors import MethodError
from halfcell.statistics.dunnett import dunnett
from halfcell.statistics.permutation import permutation_pairs, permutation_test
from published import PLANTS


@pytest.mark.reference(
    "Exact permutation of a studentised difference", "scipy.stats.permutation_test", "recomputed"
)
def test_exact_permutation() -> None:
    a, b = [1.1, 2.3, 3.0, 2.2], [3.9, 4.4, 2.9, 6.0, 5.1]

    def statistic(x: np.ndarray, y: np.ndarray, axis: int) -> np.ndarray:
        return np.abs(stats.ttest_ind(x, y, equal_var=False, axis=axis).statistic)

    expected = stats.permutation_test(
        (a, b), statistic, vectorized=True, n_resamples=np.inf, alternative="greater"
    )
    found = permutation_test(a, b, np.random.default_rng(0))
    assert found.exact
    assert found.count == math.comb(9, 4)
    assert found.p == pytest.approx(expected.pvalue)


def test_three_against_three_cannot_fall_below_a_tenth() -> None:
    found = permutation_test([1.0, 2.0, 3.0], [101.0, 102.0, 103.0], np.random.default_rng(0))
    assert found.p == pytest.approx(0.1)
    assert found.smallest == pytest.approx(0.1)


def test_random_relabelings_of_many() -> None:
    rng = np.random.default_rng(2)
    a, b = rng.normal(0, 1, 20), rng.normal(1.0, 1, 20)
    found = permutation_test(a, b, rng)
    assert not found.exact
    assert found.p == pytest.approx(stats.ttest_ind(a, b, equal_var=False).pvalue, abs=0.01)


def test_pairs_hold_the_level_of_exchangeable_groups() -> None:
    rng = np.random.default_rng(3)
    wrong = sum(bool(permutation_pairs(rng.normal(0, 1, (3, 5)), 0.95, rng).claims()) for _ in range(200))
    assert wrong / 200 <= 0.05 + 3 * math.sqrt(0.05 * 0.95 / 200)


@pytest.mark.reference("Dunnett's comparison with a control", "scipy.stats.dunnett", "recomputed")
def test_dunnett() -> None:
    pairs = dunnett(PLANTS, 0)
    expected = stats.dunnett(PLANTS[1], PLANTS[2], control=PLANTS[0])
    for pair, p, t in zip(pairs, expected.pvalue, expected.statistic, strict=True):
        assert pair.second == 0
        assert pair.p == pytest.approx(p, abs=2e-3)
        assert pair.difference.value / pair.difference.u == pytest.approx(t)
        assert pair.low < pair.difference.value < pair.high


def test_dunnett_refuses_small_groups() -> None:
    with pytest.raises(MethodError):
        dunnett([[1.0], [1.0, 2.0]], 0)
