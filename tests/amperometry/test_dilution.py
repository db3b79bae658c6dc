from __future__ import annotations

import numpy as np
import pytest

from halfcell.amperometry.dilution import dilute
from halfcell.errors import MethodError


def test_by_hand() -> None:
    found = dilute(10e-6, [10e-6, 20e-6], [4.0, 1.0])
    assert found.concentration == pytest.approx([0, 2.0, 60e-6 / 40e-6])


def test_uncertainty_against_monte_carlo() -> None:
    rng = np.random.default_rng(1)
    v = np.array([50e-9, 100e-9, 500e-9])
    draws = []
    for _ in range(20000):
        stock = 100 * (1 + 0.01 * rng.normal())
        draws.append(
            dilute(
                20e-6 + 0.1e-6 * rng.normal(), v * (1 + 0.02 * rng.normal(size=3)), np.full(3, stock)
            ).concentration
        )
    found = dilute(
        20e-6, v, np.full(3, 100.0), u_start_volume=0.1e-6, u_volume_relative=0.02, u_stock_relative=0.01
    )
    assert found.u[1:] == pytest.approx(np.std(draws, axis=0)[1:], rel=0.03)
    assert found.covariance[1, 3] == pytest.approx(np.cov(np.array(draws).T)[1, 3], rel=0.1)


def test_refuses_nonsense() -> None:
    with pytest.raises(MethodError, match="start volume"):
        dilute(0.0, [1.0], [1.0])
    with pytest.raises(MethodError, match="positive volume"):
        dilute(1.0, [-1.0], [1.0])
