from __future__ import annotations

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.signals.baselines import (
    polynomial_baseline,
    smooth_baseline,
    tangent_baseline,
    window_baseline,
)

X = np.linspace(0, 1, 501)
PEAK = np.exp(-(((X - 0.5) / 0.05) ** 2))


def test_line_through_windows_and_its_uncertainty() -> None:
    rng = np.random.default_rng(0)
    z = []
    for _ in range(200):
        y = 2 + 3 * X + PEAK + 0.05 * rng.standard_normal(X.size)
        base = window_baseline(X, y, [(0.0, 0.3), (0.7, 1.0)])
        z.append((base.values[250] - 3.5) / base.u[250])
    assert np.std(z) == pytest.approx(1.0, abs=0.15)
    assert abs(np.mean(z)) < 0.2


def test_tangent_touches_both_feet() -> None:
    base = tangent_baseline(X, 1 + X + PEAK, 0.5)
    np.testing.assert_allclose(base.values, 1 + X, atol=0.02)


def test_tangent_of_a_peak_downwards() -> None:
    base = tangent_baseline(X, -(1 + X + PEAK), 0.5, sign=-1)
    np.testing.assert_allclose(base.values, -(1 + X), atol=0.02)


@pytest.mark.parametrize("kind", ["smooth", "polynomial"])
def test_baselines_of_the_library_run_under_the_peak(kind: str) -> None:
    y = 1 + X - 0.5 * X**2 + PEAK
    base = smooth_baseline(y, stiffness=1e5) if kind == "smooth" else polynomial_baseline(X, y, order=2)
    np.testing.assert_allclose(base.values, 1 + X - 0.5 * X**2, atol=0.06)
    assert np.all(base.u >= 0)


def test_empty_window_is_refused_with_the_range() -> None:
    with pytest.raises(MethodError, match=r"0\.000 to 1\.000"):
        window_baseline(X, X, [(2.0, 3.0)])
