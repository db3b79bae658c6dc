"""Several fields taken together: intervals hold with and without scatter between them."""

from __future__ import annotations

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.micrographs.fields import field_mean, pooled_density, pooled_mean


@pytest.mark.parametrize("between", [0.0, 0.35])
def test_density_interval_covers(between: float) -> None:
    rng = np.random.default_rng(1)
    inside = 0
    for _ in range(600):
        rate = 80 * np.exp(between * rng.standard_normal(4) - between**2 / 2)
        inside += 80.0 in pooled_density(rng.poisson(rate), np.ones(4)).interval(0.95)
    assert 0.92 < inside / 600 <= 0.995


def test_plain_counts_have_the_poisson_uncertainty() -> None:
    one = pooled_density([100], [2.0])
    assert (one.value, one.u) == pytest.approx((50, 5))
    assert one.why
    empty = pooled_density([0, 0], [1.0, 1.0])
    assert (empty.value, empty.u) == (0, 0.5)


def test_mean_respects_the_fields() -> None:
    rng = np.random.default_rng(2)
    inside = naive = 0
    for _ in range(500):
        fields = [50 + 4 * rng.standard_normal() + 10 * rng.standard_normal(60) for _ in range(4)]
        inside += 50.0 in pooled_mean(fields).interval(0.95)
        together = np.concatenate(fields)
        naive += abs(together.mean() - 50) < 1.96 * together.std() / np.sqrt(240)
    assert inside / 500 > 0.92
    assert naive / 500 < 0.75


def test_one_field_and_none() -> None:
    assert field_mean([3.0]).why
    assert field_mean([1.0, 3.0]).u == pytest.approx(1.0)
    with pytest.raises(MethodError):
        pooled_mean([[]])
