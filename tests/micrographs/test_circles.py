"""Circles through part of an edge: exact on arcs, none where the edge is no arc."""

from __future__ import annotations

import numpy as np
import pytest

from halfcell.micrographs.circles import arc_of, circle_through


def _seen(x: float, y: float, radius: float, rows: int, columns: int, off: np.ndarray | float = 0.0) -> np.ndarray:  # fmt: skip
    """The outline of a disc as far as an image shows it: along the frame where it is cut."""
    angle = np.linspace(0, 2 * np.pi, 240, endpoint=False)
    points = np.column_stack([x + (radius + off) * np.cos(angle), y + (radius + off) * np.sin(angle)])
    return np.clip(points, -0.5, [columns - 0.5, rows - 0.5]).astype(np.float32)


def test_three_points_make_a_circle() -> None:
    found = circle_through(np.array([3.0, 0.0, -3.0]), np.array([0.0, 3.0, 0.0]))
    assert found is not None
    assert found == pytest.approx((0, 0, 3))
    assert circle_through(np.array([0.0, 1.0, 2.0]), np.array([0.0, 1.0, 2.0])) is None


@pytest.mark.parametrize(("x", "y"), [(-9.0, 80.0), (4.0, 80.0), (150.0, 111.0), (205.0, -8.0)])
def test_the_middle_outside_the_frame_is_found_from_the_part_inside(x: float, y: float) -> None:
    found = arc_of(_seen(x, y, 30.0, 120, 200), (120, 200))
    assert found is not None
    assert found == pytest.approx((x, y, 30.0), abs=0.02)


def test_what_is_no_arc_has_no_circle() -> None:
    wavy = 5 * np.sin(np.arange(240) * 2 * np.pi / 240 * 6)
    assert arc_of(_seen(-9.0, 80.0, 30.0, 120, 200, wavy), (120, 200)) is None
    # Of a slice two pixels deep all but the frame's own edge is within two pixels of the frame.
    assert arc_of(_seen(-28.0, 80.0, 30.0, 120, 200), (120, 200)) is None
