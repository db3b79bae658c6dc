from __future__ import annotations

import numpy as np
import pytest

from halfcell.calibration.models import compare_models
from halfcell.calibration.saturation import fit_saturation
from halfcell.errors import MethodError

X = np.array([0, 0.05, 0.1, 0.2, 0.4, 0.8, 1.6, 3.2])


def _curve(rng: np.random.Generator, noise: float = 5e-9) -> np.ndarray:
    return 1e-8 + 20e-6 * X / (1 + X / 2.0) + noise * rng.normal(size=X.size)


def test_recovers_the_truth_and_the_slope_at_no_analyte() -> None:
    found = fit_saturation(X, _curve(np.random.default_rng(1)))
    assert found.half.value == pytest.approx(2.0, abs=4 * found.half.u)
    assert found.sensitivity.value == pytest.approx(20e-6, abs=4 * found.sensitivity.u)
    assert found.maximum.value == pytest.approx(40e-6, abs=4 * found.maximum.u)
    assert found.maximum.value / found.half.value == pytest.approx(found.sensitivity.value, rel=1e-9)


def test_coverage_of_the_initial_sensitivity() -> None:
    rng = np.random.default_rng(2)
    hit = total = 0
    for _ in range(120):
        total += 1
        hit += 20e-6 in fit_saturation(X, _curve(rng, 20e-9)).sensitivity.interval()
    assert hit / total > 0.88


def test_a_straight_response_is_refused() -> None:
    rng = np.random.default_rng(3)
    with pytest.raises(MethodError, match="does not level off"):
        fit_saturation(X, 20e-6 * X + 5e-8 * rng.normal(size=X.size))


def test_models_are_told_apart_with_the_reason() -> None:
    rng = np.random.default_rng(4)
    bent = compare_models(X, _curve(rng))
    assert bent.best == "site-limited"
    assert "clearly better than the straight line" in bent.reason
    straight = compare_models(X, 20e-6 * X + 5e-8 * rng.normal(size=X.size))
    assert straight.best == "straight line"
    assert "straight line describes the points best" in straight.reason
    log = compare_models(X[1:], 1e-6 * np.log10(X[1:]) + 1e-9 * rng.normal(size=7))
    assert log.best == "line on log c"
    assert next(c for c in bent.candidates if c.name == "line on log c").why_not == "a level is zero"
