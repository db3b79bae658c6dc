from __future__ import annotations

import numpy as np
import pytest

from halfcell.calibration.linearity import constant_scatter, lack_of_fit, linear_range, mandel, runs
from halfcell.errors import MethodError
from halfcell.statistics.line import fit_line

X = np.arange(0, 21, 2.0)
Y = np.array([2.1, 5.0, 9.0, 12.6, 17.3, 21.0, 24.7, 28.4, 31.0, 32.9, 33.9])


@pytest.mark.reference(
    "Fluorescein beyond its linear range", "Miller & Miller, ch. 5, data; no published statistic", "seen"
)
def test_the_bend_of_fluorescein_is_seen() -> None:
    assert mandel(X, Y).p < 0.005
    found = linear_range(X, Y)
    assert not found.whole
    assert found.low == 0
    assert 12 <= found.high <= 16


def test_lack_of_fit_against_a_general_library() -> None:
    from scipy import stats

    rng = np.random.default_rng(1)
    x = np.repeat([1.0, 2, 4, 8, 16], 3)
    y = 2 * x - 0.01 * x**2 + rng.normal(0, 0.2, 15)
    found = lack_of_fit(x, y)
    # By comparison of nested models: line against one mean a level.
    line = fit_line(x, y)
    pure = sum(((y[x == v] - y[x == v].mean()) ** 2).sum() for v in np.unique(x))
    f = ((line.rss - pure) / 3) / (pure / 10)
    assert found.statistic == pytest.approx(f, rel=1e-12)
    assert found.p == pytest.approx(stats.f.sf(f, 3, 10), rel=1e-12)


def test_tests_reject_a_straight_line_in_five_percent() -> None:
    rng = np.random.default_rng(2)
    x, sets = np.repeat(np.linspace(0, 1, 6), 2), 700
    p = np.array([(lack_of_fit(x, y).p, mandel(x, y).p) for y in x + 0.02 * rng.normal(size=(sets, 12))])
    rates = (p < 0.05).mean(axis=0)
    assert rates == pytest.approx([0.05, 0.05], abs=0.025)


def test_without_replicates_it_says_why() -> None:
    found = lack_of_fit(X, Y)
    assert np.isnan(found.p)
    assert found.why == "no level was measured twice"
    assert found.passes()


def test_runs_exact() -> None:
    # All of one sign first: two runs of four and four; chance 2/C(8,4).
    assert runs([1, 1, 1, 1, -1, -1, -1, -1]).p == pytest.approx(2 / 70)
    assert runs([1, -1, 1, -1, 1, -1, 1, -1]).p == pytest.approx(1.0)


def test_growing_scatter_is_seen() -> None:
    rng = np.random.default_rng(3)
    x = np.repeat(np.linspace(1, 50, 10), 4)
    line = fit_line(x, 2 * x + rng.normal(0, 0.05 * x))
    assert constant_scatter(line).p < 0.01
    flat = fit_line(x, 2 * x + rng.normal(0, 1.0, 40))
    assert constant_scatter(flat).p > 0.01


def test_nothing_straight() -> None:
    x = np.linspace(0, 1, 8)
    with pytest.raises(MethodError, match="No span of 5 levels is straight"):
        linear_range(x, np.exp(3 * x) + 1e-9 * np.cos(40 * x))
