from __future__ import annotations

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.statistics.errors_in_x import fit_unsure_line, x_matters
from halfcell.statistics.line import fit_line
from halfcell.statistics.robust_line import fit_robust_line

PEARSON_X = [0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4]
PEARSON_Y = [5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5]
WEIGHTS_X = [1000, 1000, 500, 800, 200, 80, 60, 20, 1.8, 1.0]
WEIGHTS_Y = [1, 1.8, 4, 8, 20, 20, 70, 70, 100, 500]


@pytest.mark.reference(
    "Line with errors in both: Pearson's data with York's weights",
    "York et al., Am. J. Phys. 72 (2004) 367",
    "from memory",
)
def test_york() -> None:
    found = fit_unsure_line(PEARSON_X, PEARSON_Y, 1 / np.sqrt(WEIGHTS_X), 1 / np.sqrt(WEIGHTS_Y))
    assert found.slope.value == pytest.approx(-0.480533407, abs=5e-9)
    assert found.intercept.value == pytest.approx(5.47991022, abs=5e-8)
    assert found.slope.u == pytest.approx(0.0579850090, abs=5e-9)
    assert found.intercept.u == pytest.approx(0.294970735, abs=5e-8)


def test_the_same_as_a_general_minimiser() -> None:
    from scipy.optimize import minimize

    ux, uy = 1 / np.sqrt(WEIGHTS_X), 1 / np.sqrt(WEIGHTS_Y)
    x, y = np.array(PEARSON_X), np.array(PEARSON_Y)
    other = minimize(
        lambda p: np.sum((y - p[0] - p[1] * x) ** 2 / (uy**2 + (p[1] * ux) ** 2)), [5.0, -0.5], tol=1e-12
    )
    found = fit_unsure_line(x, y, ux, uy)
    assert (found.intercept.value, found.slope.value) == pytest.approx(tuple(other.x), rel=1e-5)


def test_certain_x_is_the_weighted_line() -> None:
    x, y = np.arange(6.0), np.array([0.1, 1.9, 4.2, 5.8, 8.1, 9.9])
    found = fit_unsure_line(x, y, 0.0, 0.2)
    plain = fit_line(x, y, weights=np.full(6, 25.0), known=True)
    assert found.slope.value == pytest.approx(plain.slope.value, rel=1e-12)
    assert found.slope.u == pytest.approx(plain.slope.u, rel=1e-12)


def test_when_x_matters() -> None:
    assert not x_matters(20e-6, [0.001], 8e-8)
    assert x_matters(20e-6, [0.01], 8e-8)


def test_refuses_missing_uncertainties() -> None:
    with pytest.raises(MethodError, match="positive standard uncertainty"):
        fit_unsure_line([0, 1, 2], [0, 1, 2], 0.1, 0.0)


def test_a_bad_point_does_not_move_the_robust_line() -> None:
    x = np.arange(9.0)
    y = 2 * x + 0.05 * np.sin(7 * x)
    y[4] += 10
    assert fit_robust_line(x, y).slope == pytest.approx(2.0, abs=0.05)
    assert 2.0 in fit_robust_line(x, y).interval
    with pytest.raises(MethodError, match="five points"):
        fit_robust_line([1, 2, 3], [1, 2, 3])
