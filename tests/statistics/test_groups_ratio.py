"""The ratio of two means."""

from __future__ import annotations

import math

import numpy as np
import pytest

from halfcell.results import Measured
from halfcell.statistics.groups import summarise
from halfcell.statistics.groups_ratio import mean_ratio


def test_coverage_with_unequal_scatter() -> None:
    rng = np.random.default_rng(2)
    inside = 0
    for _ in range(2000):
        a, b = summarise(rng.normal(6, 1.0, 4)), summarise(rng.normal(3, 0.2, 5))
        inside += 2.0 in mean_ratio(a.mean, b.mean).interval
    assert inside / 2000 == pytest.approx(0.95, abs=0.018)


def test_exact_denominator_is_plain_division() -> None:
    found = mean_ratio(Measured(value=6.0, u=0.3, df=4), Measured(value=2.0, u=0.0))
    interval = Measured(value=3.0, u=0.15, df=4).interval()
    assert (found.interval.low, found.interval.high) == (
        pytest.approx(interval.low),
        pytest.approx(interval.high),
    )


def test_denominator_not_told_from_zero_has_no_bounds() -> None:
    found = mean_ratio(Measured(value=6.0, u=0.3, df=4), Measured(value=0.2, u=0.3, df=4))
    assert (found.interval.low, found.interval.high) == (-math.inf, math.inf)
