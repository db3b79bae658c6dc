"""The model with one random factor."""

from __future__ import annotations

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.statistics.groups_mixed import mixed


def _nested(seed: int) -> tuple[np.ndarray, np.ndarray, list[int]]:
    rng = np.random.default_rng(seed)
    group = np.repeat([0, 1, 2], 8)
    batch = np.repeat(np.arange(12), 2)
    y = np.array([10.0, 12.0, 15.0])[group] + rng.normal(0, 1.5, 12)[batch] + rng.normal(0, 0.7, 24)
    return y, np.eye(3)[group], batch.tolist()


@pytest.mark.reference(
    "Variances and means of a mixed model by restricted likelihood", "statsmodels MixedLM", "recomputed"
)
def test_against_a_general_library() -> None:
    from statsmodels.regression.mixed_linear_model import MixedLM

    y, x, batch = _nested(1)
    expected = MixedLM(y, x, groups=np.array(batch)).fit(reml=True)
    found = mixed(y, x, batch)
    np.testing.assert_allclose(found.beta, expected.fe_params, rtol=1e-6)
    assert found.residual_variance == pytest.approx(expected.scale, rel=1e-3)
    assert found.random_variance == pytest.approx(float(np.asarray(expected.cov_re)[0, 0]), rel=1e-3)


def test_balanced_nesting_is_the_analysis_of_batch_means() -> None:
    y, x, batch = _nested(2)
    gap = mixed(y, x, batch).contrast([1, -1, 0])
    means = y.reshape(12, 2).mean(axis=1).reshape(3, 4)
    pooled = means.var(axis=1, ddof=1).mean()
    assert gap.value == pytest.approx(means[0].mean() - means[1].mean())
    assert gap.u == pytest.approx(np.sqrt(pooled * 2 / 4), rel=1e-5)
    assert gap.df == pytest.approx(9, rel=1e-3)


def test_error_rate_with_few_batches() -> None:
    """Two groups of three batches of two: under the null at most 5 %, with and without a batch effect."""
    rng = np.random.default_rng(3)
    x, batch = np.eye(2)[np.repeat([0, 1], 6)], np.repeat(np.arange(6), 2)
    for effect in (0.0, 1.0):
        wrong = 0
        for _ in range(120):
            y = rng.normal(0, effect, 6)[batch] + rng.normal(0, 1, 12)
            gap = mixed(y, x, batch.tolist()).contrast([1, -1]).interval(0.95)
            wrong += 0 not in gap
        assert wrong / 120 <= 0.05 + 3 * np.sqrt(0.05 * 0.95 / 120)


def test_refusals() -> None:
    with pytest.raises(MethodError, match="cannot give two variances"):
        mixed([1.0, 2.0, 3.0], np.ones((3, 1)), ["a", "b", "c"])
    with pytest.raises(MethodError, match="full rank"):
        mixed([1.0, 2.0, 3.0, 4.0, 5.0], np.ones((5, 2)), ["a", "a", "b", "b", "b"])
