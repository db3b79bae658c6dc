"""Power of Welch's t against simulation, and plans that keep their word."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from halfcell.errors import MethodError
from halfcell.statistics.power import Design, beyond, groups_needed, smallest_difference, welch_power


@pytest.mark.parametrize(
    ("s1", "s2", "n1", "n2", "d"), [(1, 1, 3, 3, 3.0), (1, 3, 4, 6, 4.0), (2, 1, 6, 3, 3.0)]
)
def test_power_agrees_with_simulation(s1: float, s2: float, n1: int, n2: int, d: float) -> None:
    rng = np.random.default_rng(4)
    a, b = rng.normal(d, s1, (20_000, n1)), rng.normal(0, s2, (20_000, n2))
    seen = (stats.ttest_ind(a, b, axis=1, equal_var=False).pvalue < 0.05).mean()
    assert welch_power(d, Design(s1=s1, s2=s2, n1=n1, n2=n2)) == pytest.approx(seen, abs=0.012)


@pytest.mark.reference("Power of the t test, equal groups", "statsmodels TTestIndPower", "recomputed")
def test_power_of_equal_groups() -> None:
    from statsmodels.stats.power import TTestIndPower

    for n, d in ((20, 0.8), (60, 0.3)):
        expected = TTestIndPower().power(d, n, 0.05)
        assert welch_power(d, Design(s1=1, s2=1, n1=n, n2=n)) == pytest.approx(expected, abs=6e-3)


def test_plan_keeps_its_word() -> None:
    design = Design(s1=1.0, s2=1.0, n1=4, n2=4)
    d = smallest_difference(design, 0.05, 0.8)
    assert welch_power(d, design) == pytest.approx(0.8, abs=1e-3)
    assert groups_needed(1.0001 * d, 1.0, 1.0) == 4
    assert groups_needed(1e-6, 1.0, 1.0) is None


def test_refuses_without_scatter() -> None:
    with pytest.raises(MethodError, match="scatter"):
        welch_power(1.0, Design(s1=0, s2=0, n1=3, n2=3))


@pytest.mark.parametrize(
    ("s1", "s2", "n", "d", "alpha"), [(28, 42, 4, 200, 0.006), (1, 1, 3, 9, 0.005), (1, 4, 6, 12, 0.007)]
)
def test_power_at_the_small_levels_of_a_family(s1: float, s2: float, n: int, d: float, alpha: float) -> None:
    rng = np.random.default_rng(14)
    a, b = rng.normal(d, s1, (20_000, n)), rng.normal(0, s2, (20_000, n))
    seen = (stats.ttest_ind(a, b, axis=1, equal_var=False).pvalue < alpha).mean()
    assert welch_power(d, Design(s1=s1, s2=s2, n1=n, n2=n), alpha) == pytest.approx(seen, abs=0.012)


def test_power_rises_with_the_difference() -> None:
    design = Design(s1=28, s2=42, n1=4, n2=4)
    rising = [welch_power(d, design, 0.006) for d in np.linspace(0, 1500, 60)]
    assert np.all(np.diff(rising) > -1e-9)
    assert rising[-1] > 0.999


@pytest.mark.reference("Noncentral t, both tails", "scipy.stats.nct", "recomputed")
def test_noncentral_t() -> None:
    for df, shift, bound in ((2, 1.0, 4.3), (5, 3.0, 2.57), (11, 0.5, 2.2)):
        expected = stats.nct.sf(bound, df, shift) + stats.nct.cdf(-bound, df, shift)
        assert beyond(bound, shift, df)[0] == pytest.approx(expected, abs=1e-7)
