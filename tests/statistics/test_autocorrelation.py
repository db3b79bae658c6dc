from __future__ import annotations

import numpy as np
import pytest

from halfcell.amperometry.truth import coloured
from halfcell.errors import MethodError
from halfcell.statistics.autocorrelation import steady_mean


@pytest.mark.parametrize("rho", [0.0, 0.6, 0.9])
def test_coverage_of_the_mean_with_memory(rho: float) -> None:
    rng = np.random.default_rng(11)
    total, n = 2000, 300
    t = np.arange(n) / 10.0
    hit = sum(0.0 in steady_mean(t, coloured(rng, n, 1.0, rho)).mean.interval() for _ in range(total))
    assert 0.93 < hit / total < 0.97


def test_without_allowing_for_memory_the_interval_would_fail() -> None:
    rng = np.random.default_rng(12)
    n = 300
    hit = 0
    for _ in range(300):
        v = coloured(rng, n, 1.0, 0.9)
        hit += abs(v.mean()) < 1.97 * v.std(ddof=1) / np.sqrt(n)
    assert hit / 300 < 0.6


def test_spikes_are_counted_and_left_out() -> None:
    rng = np.random.default_rng(13)
    v = rng.normal(5, 0.1, 200)
    v[[20, 90]] = 50
    found = steady_mean(np.arange(200.0), v)
    assert found.rejected == 2
    assert found.mean.value == pytest.approx(5, abs=0.05)


def test_too_short() -> None:
    with pytest.raises(MethodError, match="at least 8"):
        steady_mean([1, 2], [1, 2])
