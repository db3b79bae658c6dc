"""The generator of synthetic micrographs holds what it promises."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial import cKDTree

from halfcell.micrographs.truth import make_micrograph


def _clean(seed: int, **changes: object):
    plain = {"shape": (300, 400), "blur": 0.0, "noise": 0.0, "line_noise": 0.0, "facets": 0, "shading": 0.0, "dome": 0.0, "brightness_spread": 0.0, "bits": None}  # fmt: skip
    return make_micrograph(np.random.default_rng(seed), **(plain | changes))


def test_painted_area_is_that_of_the_discs() -> None:
    made = _clean(1)
    inside = (made.x > 40) & (made.x < 360) & (made.y > 40) & (made.y < 260)
    assert inside.sum() > 10
    for x, y, d in zip(made.x[inside], made.y[inside], made.diameter[inside], strict=True):
        r = int(d / 2 + 2)
        patch = made.pixels[int(y) - r : int(y) + r + 2, int(x) - r : int(x) + r + 2].astype(float)
        near = np.hypot(made.x - x, made.y - y) < r * 1.5 + made.diameter / 2
        if near.sum() == 1:
            assert (patch - 0.35).sum() / 0.3 == pytest.approx(np.pi * d * d / 4, rel=0.01)


def test_particles_alone_do_not_touch_and_partners_do() -> None:
    made = make_micrograph(np.random.default_rng(2), touching=0.4)
    assert (made.pair >= 0).sum() > 20
    points = np.column_stack([made.x, made.y])
    for i, j in cKDTree(points).query_pairs(60):
        ratio = np.hypot(*(points[i] - points[j])) / ((made.diameter[i] + made.diameter[j]) / 2)
        if made.pair[i] >= 0 and made.pair[i] == made.pair[j]:
            assert 0.92 < ratio < 1.001
        else:
            assert ratio > 1.04


@pytest.mark.parametrize("arrangement", ["random", "even", "clustered"])
def test_count_follows_density(arrangement: str) -> None:
    found = [
        len(m.x) / (m.pixels.size * m.metres_per_pixel**2)
        for m in (_clean(s, arrangement=arrangement, shape=(500, 700), density=50e12) for s in range(4))
    ]
    assert np.mean(found) == pytest.approx(50e12, rel=0.2)


def test_noise_and_bar_are_as_stated() -> None:
    made = _clean(3, density=0.0, noise=0.03)
    assert made.pixels.std() == pytest.approx(0.03, rel=0.02)
    assert made.contrast_to_noise == pytest.approx(10)
    barred = _clean(3, bar_rows=40)
    bright = np.flatnonzero(barred.pixels[-20, 200:] > 0.9)
    assert barred.bar_length / barred.metres_per_pixel == pytest.approx(np.ptp(bright) + 1, abs=1)
    assert barred.pixels.shape == (340, 400)


def test_same_seed_same_image() -> None:
    a, b = (make_micrograph(np.random.default_rng(7), shape=(120, 160)) for _ in range(2))
    assert np.array_equal(a.pixels, b.pixels)
