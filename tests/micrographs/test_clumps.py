"""Agglomerates and rough particles: made ones, and images of others with masks by hand."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image, ImageDraw
from scipy.ndimage import gaussian_filter

from halfcell.micrographs.border import middles
from halfcell.micrographs.detect import detect
from halfcell.micrographs.truth import make_micrograph


def _covered(found, shape) -> np.ndarray:
    canvas = Image.new("1", (shape[1], shape[0]), 0)
    pen = ImageDraw.Draw(canvas)
    for i in range(len(found)):
        pen.polygon([tuple(map(float, p)) for p in found.polygon(i)], fill=1)
    for i in range(found.clumps):
        pen.polygon([tuple(map(float, p)) for p in found.clump_polygon(i)], fill=1)
    return np.asarray(canvas)


def test_made_agglomerate_is_one_and_not_many_particles() -> None:
    made = make_micrograph(np.random.default_rng(1), shape=(400, 600), density=20e12, facets=0, noise=0.02)
    image = made.pixels.astype(float)
    rng = np.random.default_rng(2)
    v, u = np.mgrid[0:400, 0:600]
    clump = np.zeros((400, 600), bool)
    for _ in range(40):
        x, y, r = 220 + 50 * rng.standard_normal(), 190 + 28 * rng.standard_normal(), rng.uniform(8, 16)
        inside = np.hypot(u - x, v - y) < r
        clump |= inside
        image[inside] = 0.72 + 0.12 * rng.standard_normal()
    image = gaussian_filter(image, 1.2) + rng.normal(0, 0.02, image.shape)
    found = detect(np.clip(image, 0, 1).astype(np.float32))
    assert 1 <= found.clumps <= 3
    # Some of its members stand apart and are found as particles.
    assert found.clump_area.sum() == pytest.approx(clump.sum(), rel=0.3)


def test_round_smooth_particles_are_no_agglomerates() -> None:
    for seed in range(3):
        found = detect(
            make_micrograph(np.random.default_rng(seed), density=60e12, diameter_median=60e-9).pixels
        )
        assert found.clumps == 0


@pytest.mark.reference("24 coins", "sample image coins of scikit-image (count by eye)", "seen")
def test_coins() -> None:
    data = pytest.importorskip("skimage.data")
    found = detect(data.coins().astype(np.float32) / 255)
    # Each coin is one thing; one worn coin's outline is too ragged for a particle and counts as an agglomerate.
    assert len(found) + found.clumps == 24
    assert len(found) >= 22
    # By edges and watershed the diameters run from 37 to 63 pixels; half height of worn reliefs lies within.
    assert np.median(found.diameter) == pytest.approx(42.4, rel=0.1)


HAND = {
    # name: (area fraction of the hand mask, least overlap with it, least share of what is outlined that is in it)
    "5un_0": (0.2738, 0.65, 0.9),
    "10C3_0": (0.2146, 0.68, 0.9),
    "2C3_0": (0.0390, 0.5, 0.6),
}


@pytest.mark.slow
@pytest.mark.reference(
    "area fraction and overlap with masks by hand of agglomerates in micrographs",
    "Bai et al. 2022, IET Nanodielectrics 5, 93 (images and masks of the authors)",
    "seen",
)
@pytest.mark.parametrize("name", HAND)
def test_masks_by_hand(shared_data, name: str) -> None:
    """Irregular clusters with halos, hard and outside what the method is for: the limits are what it reaches."""
    folder = shared_data / "agglomerate_images"
    pixels = np.asarray(Image.open(folder / f"{name}.jpg").convert("L"), dtype=np.float32) / 255
    mask = np.asarray(Image.open(folder / f"{name}_label.png").convert("L")) < 128
    fraction, overlap, pure = HAND[name]
    assert mask.mean() == pytest.approx(fraction, abs=5e-4)
    seen = _covered(detect(pixels), pixels.shape)
    assert (seen & mask).sum() / (seen | mask).sum() >= overlap
    assert (seen & mask).sum() / seen.sum() >= pure
    assert seen.mean() == pytest.approx(fraction, rel=0.35)


def test_discs_cut_by_the_frame_are_no_agglomerates() -> None:
    """Less than half of a disc is seen: a circle through the edge that is seen has its middle outside the image."""
    v, u = np.mgrid[0:300, 0:400]
    rng = np.random.default_rng(5)
    image = np.full((300, 400), 0.3)
    cut = [(-8.0, 150.0, 34.0), (200.0, 309.0, 38.0), (407.0, 80.0, 30.0)]
    inside = [(x, y, 14.0) for x in (80.0, 150.0, 220.0, 290.0) for y in (60.0, 150.0, 240.0)]
    for x, y, r in cut + inside:
        image[np.hypot(u - x, v - y) < r] = 0.75 + 0.03 * rng.standard_normal()
    found = detect(
        np.clip(gaussian_filter(image, 1.2) + rng.normal(0, 0.02, image.shape), 0, 1).astype(np.float32)
    )
    assert found.clumps == 0
    assert len(found) == 15
    found_at = middles(
        found.x, found.y, found.diameter, found.cut, found.outline, found.first, width=400, height=300
    )
    for x, y, r in cut:
        i = np.argmin(np.hypot(found_at.x - x, found_at.y - y))
        assert np.hypot(found_at.x[i] - x, found_at.y[i] - y) < 0.15 * r
        assert found.cut[i] == 1
