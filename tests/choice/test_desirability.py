"""Derringer and Suich's transformations."""

from __future__ import annotations

import numpy as np
import pytest

from halfcell.choice.criteria import Must, Want
from halfcell.choice.desirability import desirability, together
from halfcell.errors import MethodError


@pytest.mark.reference(
    "One- and two-sided desirability and their geometric mean",
    "Derringer & Suich 1980, J. Qual. Technol. 12:214, formulas",
    "from memory",
)
def test_formulas() -> None:
    up = Want(finding="a", aim="maximise", low=100, high=170, shape=1.0)
    np.testing.assert_allclose(desirability([90, 100, 135, 170, 200], up), [0, 0, 0.5, 1, 1])
    down = Want(finding="a", aim="minimise", low=1, high=5, shape=2.0)
    np.testing.assert_allclose(desirability([0.5, 1, 3, 5, 9], down), [1, 1, 0.25, 0, 0])
    at = Want(finding="a", aim="target", low=400, target=500, high=600)
    np.testing.assert_allclose(
        desirability([390, 400, 450, 500, 575, 600, 700], at), [0, 0, 0.5, 1, 0.25, 0, 0]
    )
    assert float(together([0.25, 1.0], [1, 1])) == pytest.approx(0.5)
    assert float(together([0.25, 1.0], [3, 1])) == pytest.approx(0.25**0.75)


def test_zero_in_one_is_zero_in_all_unless_it_has_no_weight() -> None:
    assert float(together([0.0, 1.0], [1, 1])) == 0.0
    assert float(together([0.0, 0.5], [0, 1])) == 0.5
    assert float(together([0.0, 0.5], [0, 0])) == 1.0


def test_target_at_an_end() -> None:
    want = Want(finding="a", aim="target", low=0, target=0, high=10)
    np.testing.assert_allclose(desirability([-1, 0, 5, 10], want), [0, 1, 0.5, 0])


def test_criteria_refuse_what_cannot_be_meant() -> None:
    with pytest.raises(MethodError, match="needs a limit"):
        Must(finding="a")
    with pytest.raises(MethodError, match="at least 3 and at most 2"):
        Must(finding="a", at_least=3, at_most=2)
    with pytest.raises(MethodError, match="low is below high"):
        Want(finding="a", aim="maximise", low=2, high=1)
    with pytest.raises(MethodError, match="target"):
        Want(finding="a", aim="target", low=0, high=1)
    with pytest.raises(MethodError, match="it is maximise, minimise or target"):
        Want(finding="a", aim="more", low=0, high=1)
