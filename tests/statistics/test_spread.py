"""Equal spread, ranks and normality."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from halfcell.errors import MethodError
from halfcell.statistics.normality import normality
from halfcell.statistics.ranks import kruskal_wallis, rank_pairs, smallest_p
from halfcell.statistics.spread import equal_spread
from published import PLANTS


@pytest.mark.reference("Brown–Forsythe and Levene", "scipy.stats.levene", "recomputed")
@pytest.mark.parametrize("centre", ["median", "mean"])
def test_spread(centre: str) -> None:
    expected = stats.levene(*PLANTS, center=centre)
    found = equal_spread(PLANTS, centre=centre)
    assert (found.statistic, found.p) == (pytest.approx(expected.statistic), pytest.approx(expected.pvalue))


def test_unequal_spread_is_seen() -> None:
    rng = np.random.default_rng(8)
    assert equal_spread([rng.normal(0, 1, 20), rng.normal(0, 8, 20)]).p < 1e-4


@pytest.mark.reference("Kruskal–Wallis", "scipy.stats.kruskal", "recomputed")
def test_ranks() -> None:
    found = kruskal_wallis(PLANTS)
    assert found.p == pytest.approx(stats.kruskal(*PLANTS).pvalue)
    assert kruskal_wallis([[1.0, 1.0], [1.0, 1.0]]).p == 1.0


def test_three_against_three_cannot_be_seen_by_ranks() -> None:
    assert smallest_p(3, 3) == pytest.approx(0.1)
    pairs = rank_pairs([[1.0, 2.0, 3.0], [10.0, 11.0, 12.0]])
    assert pairs.pairs[0].p == pytest.approx(0.1)
    assert not pairs.claims()


def test_normality_shows_residuals() -> None:
    rng = np.random.default_rng(9)
    found = normality([rng.normal(5, 1, 12), rng.normal(9, 3, 12)])
    assert len(found.residuals) == 24
    assert np.all(np.diff(found.residuals) >= 0)
    assert found.p > 0.05
    assert normality([rng.exponential(1, 40)]).p < 0.01
    with pytest.raises(MethodError, match="too few"):
        normality([[1.0, 2.0]])
