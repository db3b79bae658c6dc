from __future__ import annotations

import math

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.results import Measured
from halfcell.statistics.ratios import ratio


def test_fieller_solves_its_own_equation() -> None:
    a, b = Measured(value=3.0, u=0.2, df=9), Measured(value=1.5, u=0.1, df=9)
    found = ratio(a, b, covariance=0.005)
    t = 2.2621571628
    for r in (found.interval.low, found.interval.high):
        u = math.sqrt(a.u**2 - 2 * r * 0.005 + (r * b.u) ** 2)
        assert abs(a.value - r * b.value) == pytest.approx(t * u, rel=1e-9)
    assert found.kind == "bounded"


def test_a_poor_divisor_gives_an_unbounded_set() -> None:
    away = ratio(Measured(value=5.0, u=0.1, df=10), Measured(value=0.1, u=0.1, df=10))
    assert away.kind == "unbounded"
    assert away.gap is not None
    assert away.gap[0] < away.gap[1]
    nothing = ratio(Measured(value=0.1, u=1.0, df=10), Measured(value=0.1, u=0.1, df=10))
    assert nothing.kind == "all"


def test_small_g_agrees_with_the_simple_interval() -> None:
    found = ratio(Measured(value=10.0, u=0.1), Measured(value=2.0, u=0.001))
    simple = found.ratio.interval()
    assert found.interval.low == pytest.approx(simple.low, rel=1e-3)


def test_coverage_with_a_poor_divisor() -> None:
    # Fieller holds its level where the simple interval does not: divisor known to 20 %.
    rng = np.random.default_rng(3)
    n, df = 10_000, 8
    s = np.sqrt(rng.chisquare(df, n) / df)
    a, b = 3 + 0.5 * rng.normal(size=n), 1 + 0.2 * rng.normal(size=n)
    hit = 0
    for i in range(n):
        found = ratio(Measured(value=a[i], u=0.5 * s[i], df=df), Measured(value=b[i], u=0.2 * s[i], df=df))
        if found.kind == "bounded":
            hit += 3.0 in found.interval
        elif found.kind == "unbounded":
            assert found.gap is not None
            hit += not (found.gap[0] < 3.0 < found.gap[1])
        else:
            hit += 1
    assert 0.94 < hit / n < 0.96


def test_refuses_a_zero_divisor() -> None:
    with pytest.raises(MethodError, match="has no value"):
        ratio(Measured(value=1.0, u=0.1), Measured(value=0.0, u=0.1))
