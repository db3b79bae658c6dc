"""Particles are found and measured as the truth says; where there are none, none are found."""

from __future__ import annotations

import numpy as np
import pytest

from halfcell.cache import decode, encode
from halfcell.errors import MethodError
from halfcell.micrographs.detect import detect
from halfcell.micrographs.truth import make_micrograph
from halfcell.micrographs.truth_match import match
from halfcell.results import same

GRID = [
    # contrast-to-noise ≥ 4 throughout; the whole grid stands in docs/micrographs.md
    {"contrast": 0.3, "noise": 0.03},
    {"contrast": 0.2, "noise": 0.05, "arrangement": "even"},
    {"contrast": 0.25, "noise": 0.05, "touching": 0.3, "arrangement": "clustered"},
    {"contrast": 0.3, "noise": 0.02, "diameter_median": 24e-9, "density": 120e12},
    {"contrast": 0.3, "noise": 0.06, "diameter_median": 90e-9, "density": 20e12, "blur": 2.0},
    {"contrast": 0.2, "noise": 0.05, "diameter_median": 12e-9, "density": 120e12},
    {"contrast": 0.2, "noise": 0.02, "diameter_median": 12e-9, "density": 120e12, "arrangement": "clustered"},
    {"contrast": 0.2, "noise": 0.033, "diameter_median": 20e-9, "density": 120e12, "arrangement": "even"},
    {"dome": -0.2},
    {"dome": 0.2},
]


@pytest.mark.parametrize("case", GRID, ids=lambda c: ", ".join(f"{k} {v}" for k, v in c.items()))
def test_accuracy_against_known_particles(case: dict) -> None:
    made = make_micrograph(np.random.default_rng(11), **case)
    found = detect(made.pixels)
    result = match(made, found.x, found.y, found.diameter)
    assert made.contrast_to_noise > 3.99
    assert result.f1 >= 0.97
    assert abs(result.bias) <= 0.02
    assert abs(result.spread_bias) <= 0.10


def test_small_particles_are_not_taken_for_rough_ones() -> None:
    """The halo of a small particle is no region: none comes out half as large again."""
    made = make_micrograph(
        np.random.default_rng(101), shape=(400, 600), contrast=0.2, noise=0.02, diameter_median=20e-9, density=120e12
    )  # fmt: skip
    found = detect(made.pixels)
    result = match(made, found.x, found.y, found.diameter)
    whole = result.true_diameter > 4
    assert (result.diameter[whole] / result.true_diameter[whole]).max() < 1.4


def test_contact_is_told_from_closeness() -> None:
    """Particles stand apart by a twentieth of their radii at least, or touch (by construction)."""
    crowd = make_micrograph(np.random.default_rng(7), shape=(300, 400), density=220e12)
    found = detect(crowd.pixels)
    assert len(found) > 70
    assert (found.group >= 0).mean() < 0.03
    made = make_micrograph(np.random.default_rng(7), shape=(400, 500), touching=0.5)
    found = detect(made.pixels)
    together = 0
    numbers = np.unique(made.pair[made.pair >= 0])
    for number in numbers:
        i = np.flatnonzero(made.pair == number)
        group = [found.group[np.hypot(found.x - made.x[k], found.y - made.y[k]).argmin()] for k in i]
        together += len(i) < 2 or (group[0] >= 0 and group[0] == group[1])
    assert together >= len(numbers) - 1


def test_six_and_two_hundred_pixels_in_one_image() -> None:
    rng = np.random.default_rng(5)
    small = make_micrograph(
        rng, shape=(900, 900), diameter_median=14e-9, sigma_g=1.05, density=25e12, facets=0, noise=0.02
    )
    made = small.pixels.copy()
    v, u = np.mgrid[0:900, 0:900]
    made[np.hypot(u - 450, v - 430) < 100] = 0.65
    near = np.hypot(small.x - 450, small.y - 430) < 115
    found = detect(made)
    large = found.diameter > 150
    assert large.sum() == 1
    assert found.diameter[large][0] == pytest.approx(200, rel=0.01)
    inside = (small.x > 5) & (small.x < 895) & (small.y > 5) & (small.y < 895) & ~near
    apart = np.hypot(small.x[inside][:, None] - found.x, small.y[inside][:, None] - found.y).min(axis=1)
    assert (apart < 2).mean() >= 0.97


def test_diameter_does_not_depend_on_blur() -> None:
    means = []
    for blur in (0.6, 1.3, 2.6):
        made = make_micrograph(
            np.random.default_rng(3), blur=blur, noise=0.01, diameter_median=44e-9, shape=(400, 600)
        )
        found = detect(made.pixels)
        result = match(made, found.x, found.y, found.diameter)
        means.append(result.diameter.mean() / result.true_diameter.mean())
        assert found.blur == pytest.approx(np.hypot(blur, 0.3), rel=0.2)
    assert np.ptp(means) < 0.01
    assert np.mean(means) == pytest.approx(1.0, abs=0.01)


def test_diameter_does_not_depend_on_brightness_or_facets() -> None:
    flat = make_micrograph(np.random.default_rng(4), facets=0, shading=0.0, noise=0.01, brightness_spread=0.0)
    rough = make_micrograph(
        np.random.default_rng(4), facets=15, facet_contrast=0.05, noise=0.01, brightness_spread=0.3
    )
    for made in (flat, rough):
        found = detect(made.pixels)
        result = match(made, found.x, found.y, found.diameter)
        assert result.bias == pytest.approx(0.0, abs=0.01)
        assert result.f1 > 0.97


@pytest.mark.parametrize("seed", range(3))
def test_bare_substrate_has_no_particles(seed: int) -> None:
    bare = make_micrograph(
        np.random.default_rng(seed), density=0.0, facets=20, facet_contrast=0.05, grain_edges=0.1
    )
    assert len(detect(bare.pixels)) <= 2


def test_position_moves_with_the_image() -> None:
    made = make_micrograph(np.random.default_rng(8), shape=(400, 500), noise=0.01)
    found, moved = detect(made.pixels), detect(made.pixels[16:, 32:])
    inner = (found.x > 60) & (found.x < 440) & (found.y > 60) & (found.y < 340)
    apart = np.hypot(found.x[inner][:, None] - 32 - moved.x, found.y[inner][:, None] - 16 - moved.y).min(
        axis=1
    )
    assert np.median(apart) < 0.2


def test_border_particles_are_told() -> None:
    made = make_micrograph(np.random.default_rng(9))
    found = detect(made.pixels)
    r = found.diameter / 2
    beyond = (found.x - r < -1.5) | (found.y - r < -1.5) | (found.x + r > 1024.5) | (found.y + r > 768.5)
    assert (found.cut[beyond] == 1).all()
    clear = (found.x - r > 1.5) & (found.y - r > 1.5) & (found.x + r < 1021) & (found.y + r < 765)
    assert (found.cut[clear] == 0).all()


def test_result_is_kept_by_the_cache_to_the_same_digit() -> None:
    made = make_micrograph(np.random.default_rng(1), shape=(200, 300))
    found = detect(made.pixels)
    assert same(decode(encode(found)), found)
    assert same(detect(made.pixels), found)


@pytest.mark.parametrize(
    ("pixels", "said"),
    [
        (np.zeros((10, 40), np.float32), "too small"),
        (np.full((64, 64), 0.5, np.float32), "alike"),
        (np.full((64, 64), np.nan, np.float32), "not numbers"),
    ],
)
def test_refuses_with_reason(pixels: np.ndarray, said: str) -> None:
    with pytest.raises(MethodError, match=said):
        detect(pixels)
