"""The drawn bar is found to the pixel; where there is none, that is said."""

from __future__ import annotations

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.micrographs.scale_bar import find_scale_bar
from halfcell.micrographs.truth import make_micrograph


@pytest.mark.parametrize(("columns", "metres"), [(1024, 2e-9), (640, 1.3e-9), (1280, 5e-9)])
def test_bar_of_the_data_bar(columns: int, metres: float) -> None:
    made = make_micrograph(
        np.random.default_rng(1), shape=(300, columns), metres_per_pixel=metres, density=5e12, bar_rows=48
    )
    bar = find_scale_bar(made.pixels, bar_rows=48)
    assert made.bar_length / bar.length == pytest.approx(metres, rel=0.01)
    assert bar.y >= 300
    assert bar.thickness == 3


def test_bar_with_end_ticks_in_the_image() -> None:
    image = np.random.default_rng(2).uniform(0.2, 0.7, (200, 300)).astype(np.float32)
    image[150:154, 40:140] = 1.0
    image[145:159, [40, 139]] = 1.0
    bar = find_scale_bar(image)
    assert (bar.length, bar.x, bar.y) == (100, 40, 150)


def test_dark_bar_on_a_light_strip() -> None:
    strip = np.full((40, 400), 1.0, np.float32)
    strip[18:22, 50:250] = 0.0
    assert find_scale_bar(strip, bar_rows=40).length == 200


def test_no_bar() -> None:
    image = np.random.default_rng(3).uniform(0, 1, (200, 300)).astype(np.float32)
    with pytest.raises(MethodError, match="No scale bar"):
        find_scale_bar(image)
