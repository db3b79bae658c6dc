"""The seen part of a frame: areas, shifts, random points."""

from __future__ import annotations

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.micrographs.window import cells_of, window_of


def _quarter() -> np.ndarray:
    seen = np.ones((40, 50), bool)
    seen[:20, :25] = False
    return seen


def test_rectangle() -> None:
    whole = window_of(5, 4, np.ones((4, 5), bool))
    assert whole.seen is None
    assert whole.area == 20
    assert whole.translated(np.array([1.0, -2.0]), np.array([0.0, 1.0])).tolist() == [16, 9]
    assert whole.contains(np.array([0, 5.0]), np.array([3.9, 1.0])).tolist() == [True, False]


@pytest.mark.reference("set covariance of a rectangle less a quarter", "geometry; derived", "derived")
def test_shifts_of_a_window_less_a_quarter() -> None:
    """An L of three quarters of 50 × 40, shifted by (a, b): W ∩ (W + shift) by hand from its rectangles."""
    window = window_of(50, 40, _quarter())
    assert window.area == pytest.approx(1500)
    # Shift to the right by 10: below, 40 × 20 of the full half stays; above, 15 × 20 of the right quarter.
    assert window.translated(np.array([10.0]), np.array([0.0]))[0] == pytest.approx(40 * 20 + 15 * 20)
    # Down by 5: the right half keeps 25 × 35, the lower left 25 × 15.
    assert window.translated(np.array([0.0]), np.array([5.0]))[0] == pytest.approx(25 * 35 + 25 * 15)
    # Between cells it is linear.
    assert window.translated(np.array([10.5]), np.array([0.0]))[0] == pytest.approx(39.5 * 20 + 14.5 * 20)


def test_random_points_lie_evenly_in_what_is_seen() -> None:
    window = window_of(500, 400, _quarter())
    p = window.random(np.random.default_rng(1), 30000).astype(float)
    assert window.contains(p[:, 0], p[:, 1]).all()
    assert not ((p[:, 0] < 249.9) & (p[:, 1] < 199.9)).any()
    below = (p[:, 1] > 200).mean()
    assert below == pytest.approx(2 / 3, abs=4 * np.sqrt(2 / 9 / 30000))


def test_shares_of_rectangles() -> None:
    assert window_of(5, 4, _quarter()).shares(2, 2).tolist() == [[0, 1], [1, 1]]
    assert window_of(5, 4, _quarter()).shares(1, 1)[0, 0] == pytest.approx(0.75)


def test_cells_inside_the_guard() -> None:
    masked = np.zeros((300, 400), bool)
    masked[:150] = True
    cells = cells_of(masked, guard=10)
    assert cells.mean() == pytest.approx(0.5, abs=0.01)
    assert cells[-1].all()
    assert not cells[0].any()


def test_nothing_left() -> None:
    with pytest.raises(MethodError, match="nothing is left"):
        window_of(5, 4, np.zeros((4, 5), bool))
    with pytest.raises(MethodError, match="no area"):
        window_of(0, 4)
