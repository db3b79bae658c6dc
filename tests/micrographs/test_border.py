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


def test_a_slice_too_short_for_a_circle_is_not_counted() -> None:
    """Of two pieces at the frame the small one is a slice of a particle outside, whatever its own middle."""
    angle = np.linspace(0, 2 * np.pi, 48, endpoint=False)
    ring = np.column_stack([np.cos(angle), np.sin(angle)])
    at, width = np.array([[100.0, 100.0], [60.0, 40.0], [2.0, 150.0], [0.0, 60.0]]), np.array([40.0, 40.0, 36.0, 4.0])  # fmt: skip
    outline = np.concatenate([m + w / 2 * ring for m, w in zip(at, width, strict=True)]).astype(np.float32)
    outline[:, 0] = np.maximum(outline[:, 0], -0.5)
    middle = middles(at[:, 0], at[:, 1], width, [0, 0, 1, 1], outline, np.arange(5) * 48, width=200, height=200)  # fmt: skip
    assert middle.x[:3] == pytest.approx([100.0, 60.0, 2.0], abs=0.1)
    assert count(middle.x, middle.y, width=200, height=200).counted.tolist() == [1, 1, 1, 0]


@pytest.mark.slow
def test_count_on_images_of_large_particles() -> None:
    """A tenth and more of them are cut by the frame; over 16 images the count is right to one per cent."""
    counted = truth = 0
    for seed in range(16):
        made = make_micrograph(
            np.random.default_rng(seed), density=30e12, diameter_median=70e-9, shape=(600, 800)
        )
        found = detect(made.pixels)
        middle = middles(
            found.x, found.y, found.diameter, found.cut, found.outline, found.first, width=800, height=600
        )
        counted += count(middle.x, middle.y, width=800, height=600).number
        truth += count(made.x, made.y, width=800, height=600).number
    assert counted == pytest.approx(truth, rel=0.01)
