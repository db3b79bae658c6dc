from __future__ import annotations

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.signals.branch import branch_of
from halfcell.voltammetry.cycles import stable_cycle

E = np.linspace(0, 1, 201)


def _cycle(size: float, upto: int = 201) -> object:
    return branch_of(E[:upto], size * np.exp(-(((E[:upto] - 0.5) / 0.1) ** 2)))


def test_the_unlike_first_cycle_is_passed_over() -> None:
    found = stable_cycle([(1, _cycle(1.4)), (2, _cycle(1.0)), (3, _cycle(0.995)), (4, _cycle(0.99))])
    assert found.cycle == 4
    assert found.changes[0] > 0.02 > found.changes[1]
    assert found.drift.value == pytest.approx(-0.005, rel=0.02)


def test_an_incomplete_last_cycle_is_left_out() -> None:
    found = stable_cycle([(1, _cycle(1.0)), (2, _cycle(1.0)), (3, _cycle(1.0, 120))])
    assert (found.cycle, found.left_out) == (2, (3,))


def test_never_stable_is_said() -> None:
    assert "still differs" in stable_cycle([(1, _cycle(1.0)), (2, _cycle(0.5))]).note


def test_one_cycle_and_none() -> None:
    assert stable_cycle([(1, _cycle(1.0))]).cycle == 1
    with pytest.raises(MethodError):
        stable_cycle([(1, None)])
