"""The ratio of two groups by resampling electrodes."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from halfcell.errors import MethodError
from halfcell.statistics.resampling import bootstrap_ratio


def test_coverage_for_skewed_limits() -> None:
    """Eight log-normal limits a group: nominal 95 % covers 88 % or more (the docstring says: too narrow for few)."""
    rng = np.random.default_rng(1)
    inside = 0
    for _ in range(300):
        a, b = np.exp(rng.normal(np.log(3), 0.4, 8)), np.exp(rng.normal(0, 0.4, 8))
        inside += 3.0 in bootstrap_ratio(a, b, rng, count=800).interval
    assert 0.87 <= inside / 300 <= 0.98


@pytest.mark.reference(
    "Bias-corrected and accelerated bootstrap", "scipy.stats.bootstrap(method='BCa')", "recomputed"
)
def test_against_a_general_library() -> None:
    rng = np.random.default_rng(2)
    a, b = rng.lognormal(1, 0.5, 9), rng.lognormal(0, 0.5, 7)

    def gap(x: np.ndarray, y: np.ndarray, axis: int) -> np.ndarray:
        return np.log(x).mean(axis=axis) - np.log(y).mean(axis=axis)

    expected = np.exp(
        stats.bootstrap((a, b), gap, n_resamples=40_000, method="BCa", rng=rng).confidence_interval
    )
    found = bootstrap_ratio(a, b, rng, count=40_000).interval
    assert (found.low, found.high) == (
        pytest.approx(expected[0], rel=0.03),
        pytest.approx(expected[1], rel=0.03),
    )


def test_refusals() -> None:
    with pytest.raises(MethodError, match="positive"):
        bootstrap_ratio([1.0, 2.0, -1.0], [1.0, 2.0, 3.0], np.random.default_rng(0))
    with pytest.raises(MethodError, match="3 or more"):
        bootstrap_ratio([1.0, 2.0], [1.0, 2.0, 3.0], np.random.default_rng(0))
