"""Welch's tests against R and scipy."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from halfcell.errors import MethodError
from halfcell.statistics.welch import welch_anova, welch_t
from published import PLANTS, SLEEP


@pytest.mark.reference("Welch's t of the sleep data", "R t.test, data set sleep", "recomputed")
def test_sleep() -> None:
    test = welch_t(*SLEEP)
    assert test.t == pytest.approx(-1.860813467, abs=1e-9)
    assert test.difference.df == pytest.approx(17.77647352, abs=1e-8)
    assert test.p == pytest.approx(0.07939414, abs=1e-8)
    interval = test.interval(0.95, held=False)
    assert (interval.low, interval.high) == (
        pytest.approx(-3.365483, abs=1e-6),
        pytest.approx(0.205483, abs=1e-6),
    )


@pytest.mark.reference("Welch's F of PlantGrowth", "R oneway.test, data set PlantGrowth", "recomputed")
def test_plants() -> None:
    test = welch_anova(PLANTS)
    assert test.f == pytest.approx(5.1809724, abs=1e-7)
    assert test.df2 == pytest.approx(17.128419, abs=1e-6)
    assert test.p == pytest.approx(0.01739282, abs=1e-8)


def test_two_groups_are_the_t_test() -> None:
    a, b = [1.0, 2.5, 3.0], [4.0, 4.1, 9.0, 2.0]
    t, f = welch_t(a, b), welch_anova([a, b])
    assert f.f == pytest.approx(t.t**2, rel=1e-12)
    assert f.p == pytest.approx(t.p, rel=1e-10)
    assert t.p == pytest.approx(stats.ttest_ind(a, b, equal_var=False).pvalue, rel=1e-12)


def test_held_interval_agrees_with_held_p() -> None:
    rng = np.random.default_rng(3)
    for _ in range(20):
        test = welch_t(rng.normal(0, 1, 3), rng.normal(1.5, 3, 6))
        interval = test.interval(0.95)
        assert (interval.low > 0 or interval.high < 0) == (test.p_held < 0.05)
        assert test.p_held >= test.p


def test_refusals() -> None:
    with pytest.raises(MethodError, match="2 or more are needed"):
        welch_t([1.0], [1.0, 2.0])
    with pytest.raises(MethodError, match="scatter"):
        welch_t([1.0, 1.0], [2.0, 2.0])
    with pytest.raises(MethodError, match="no scatter"):
        welch_anova([[1.0, 1.0], [2.0, 3.0]])
