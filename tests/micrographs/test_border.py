"""The frame neither favours small particles nor counts any twice."""

from __future__ import annotations

import numpy as np
import pytest

from halfcell.micrographs.border import count, inclusion_probability, middles
from halfcell.micrographs.detect import detect
from halfcell.micrographs.truth import make_micrograph


@pytest.mark.reference(
    "inclusion probability 0.81 for Feret 100 in 1000 × 1000",
    "Miles–Lantuéjoul, ISO 13322-1; derived",
    "derived",
)
def test_probability() -> None:
    assert inclusion_probability([100], [100], width=1000, height=1000)[0] == pytest.approx(0.81)
    assert inclusion_probability([1200], [100], width=1000, height=1000)[0] == 0


def test_weights_restore_the_distribution() -> None:
    rng = np.random.default_rng(1)
    n, z = 200_000, 400.0
    d = rng.choice([20.0, 120.0], n)
    x, y = rng.uniform(-100, 500, (2, n))
    whole = (x > d / 2) & (x < z - d / 2) & (y > d / 2) & (y < z - d / 2)
    w = 1 / inclusion_probability(d[whole], d[whole], width=z, height=z)
    plain, corrected = d[whole].mean(), np.average(d[whole], weights=w)
    assert plain < 60
    assert corrected == pytest.approx(70, rel=0.01)


def test_count_is_unbiased_and_tiles_once() -> None:
    rng = np.random.default_rng(2)
    x, y = rng.uniform(0, 2000, (2, 4000))
    total = np.zeros(4000)
    for i in range(-1, 11):
        for j in range(-1, 11):
            found = count(x - 200 * i - 0.5, y - 200 * j - 0.5, width=200, height=200)
            total += found.counted
    inner = (x > 100) & (x < 1900) & (y > 100) & (y < 1900)
    assert (total[inner] == 1).all()


@pytest.mark.slow
def test_count_on_images_of_large_particles() -> None:
    """A tenth and more of them are cut by the frame; the count is right to two per cent in all."""
    counted = truth = 0
    for seed in range(6):
        made = make_micrograph(
            np.random.default_rng(seed), density=30e12, diameter_median=70e-9, shape=(600, 800)
        )
        found = detect(made.pixels)
        middle = middles(
            found.x, found.y, found.diameter, found.cut, found.outline, found.first, width=800, height=600
        )
        counted += count(middle.x, middle.y, width=800, height=600).number
        truth += count(made.x, made.y, width=800, height=600).number
    assert counted == pytest.approx(truth, rel=0.02)
