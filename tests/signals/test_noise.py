from __future__ import annotations

import numpy as np
import pytest

from halfcell.signals.noise import correlated, effective_size, record_noise


@pytest.mark.parametrize("rho", [0.0, 0.5])
def test_size_of_noise_on_a_curve(rho: float) -> None:
    x = np.linspace(-6, 6, 2000)
    y = 50 / np.cosh(x) ** 2 + correlated(2000, 0.3, rho, np.random.default_rng(0))
    found = record_noise(y)
    assert found.sigma == pytest.approx(0.3, rel=0.15)
    assert found.rho == pytest.approx(rho, abs=0.12)


def test_correlated_noise_has_the_stated_moments() -> None:
    y = correlated(200_000, 2.0, 0.8, np.random.default_rng(2))
    assert np.std(y) == pytest.approx(2.0, rel=0.02)
    assert np.corrcoef(y[1:], y[:-1])[0, 1] == pytest.approx(0.8, abs=0.01)


def test_effective_size() -> None:
    # Mean of AR(1): variance sigma^2/n (1 + rho)/(1 - rho) for large n (textbook result).
    rng = np.random.default_rng(3)
    means = [correlated(400, 1.0, 0.6, rng).mean() for _ in range(2000)]
    assert np.var(means) == pytest.approx(1 / effective_size(400, 0.6), rel=0.12)
