from __future__ import annotations

import math
from dataclasses import FrozenInstanceError

import numpy as np
import pytest

from halfcell.results import Measured, coverage_factor, effective_df, read_only, same, unknown


@pytest.mark.parametrize(
    ("df", "k"),
    [
        (1, 12.71),
        (2, 4.30),
        (3, 3.18),
        (4, 2.78),
        (5, 2.57),
        (10, 2.23),
        (20, 2.09),
        (50, 2.01),
        (math.inf, 1.960),
    ],
)
@pytest.mark.reference("Student's t at 95 %", "JCGM 100:2008 (GUM), table G.2", "from memory")
def test_coverage_factors(df: float, k: float) -> None:
    assert coverage_factor(0.95, df) == pytest.approx(k, abs=0.0051)


@pytest.mark.reference(
    "effective degrees of freedom 19.0 of a product of three inputs",
    "JCGM 100:2008 (GUM), G.4.1, example",
    "from memory",
)
def test_effective_degrees_of_freedom() -> None:
    parts = [(0.25, 9.0), (0.57, 4.0), (0.82, 14.0)]
    assert effective_df(parts) == pytest.approx(19.0, abs=0.05)
    assert math.hypot(*(u for u, _ in parts)) == pytest.approx(1.03, abs=0.005)


def test_effective_df_at_the_edges() -> None:
    assert effective_df([]) == math.inf
    assert effective_df([(0.1, math.inf)]) == math.inf
    assert effective_df([(0.1, 7.0)]) == pytest.approx(7.0)
    assert effective_df([(0.1, 7.0), (0.0, 1.0)]) == pytest.approx(7.0)


def test_interval_covers_as_often_as_it_says() -> None:
    # Means of four normal values: the claimed 90 % must hold within the binomial scatter (3.5 sigma).
    rng = np.random.default_rng(7)
    trials = 4000
    draws = rng.normal(3.0, 2.0, (trials, 4))
    means, spreads = draws.mean(axis=1), draws.std(axis=1, ddof=1) / 2
    inside = sum(
        3.0 in Measured(value=float(m), u=float(s), df=3).interval(0.90)
        for m, s in zip(means, spreads, strict=True)
    )
    assert abs(inside / trials - 0.90) < 3.5 * math.sqrt(0.9 * 0.1 / trials)


def test_a_value_without_uncertainty_has_no_bounds() -> None:
    value = unknown("one sample only")
    assert math.isnan(value.value)
    assert value.why == "one sample only"
    assert -1e300 in Measured(value=5.0).interval()


def test_another_unit() -> None:
    value = Measured(value=2.0, u=0.1, df=5, why="x").times(-1000.0)
    assert (value.value, value.u, value.df, value.why) == (-2000.0, 100.0, 5, "x")


def test_nothing_can_be_changed() -> None:
    array = read_only([1, 2, 3])
    with pytest.raises(ValueError, match="read-only"):
        array[0] = 5
    with pytest.raises(FrozenInstanceError):
        Measured(value=1.0).value = 2.0  # type: ignore[misc]
    source = np.ones(3)
    copy = read_only(source)
    source[0] = 9
    assert copy[0] == 1


def test_same_is_deep_and_says_no() -> None:
    one = {"a": (Measured(value=math.nan), read_only([1.0, math.nan]))}
    assert same(one, {"a": (Measured(value=math.nan), read_only([1.0, math.nan]))})
    assert not same(one, {"a": (Measured(value=math.nan), read_only([1.0, 2.0]))})
    assert not same(1.0, 1)
    assert not same([1.0], (1.0,))
    assert not same({"a": 1}, {"b": 1})
    assert not same(1.0, 1.0 + 1e-9)
    assert same(1.0, 1.0 + 1e-9, rtol=1e-8)
