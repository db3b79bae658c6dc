"""The metal in agglomerates lies between its bounds, in layers and heaps whose metal is known."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter

from halfcell.micrographs.agglomerates import agglomerated_metal
from halfcell.micrographs.detect import detect


@pytest.mark.reference("volume and area of one layer and of a dome", "geometry; derived", "derived")
def test_bounds() -> None:
    # Hemispheres 30 wide are 10 high on average (d/3); a disc 300 wide holds a dome 100 high on average.
    area = math.pi * 150**2
    found = agglomerated_metal([area], [30.0, 30.0])
    assert found.volume_low == pytest.approx(area * 10)
    assert found.volume_high == pytest.approx(2 / 3 * math.pi * 150**3)
    # One layer of domes has twice its projected area; full of particles the dome has 6/d of its volume.
    assert found.metal_area_low == pytest.approx(2 * area)
    assert found.metal_area_high == pytest.approx(found.volume_high * 6 / 30)
    assert found.volume.value == pytest.approx((found.volume_low + found.volume_high) / 2)
    assert found.volume.u == pytest.approx((found.volume_high - found.volume_low) / math.sqrt(12))


def test_bounds_of_spheres_and_of_none() -> None:
    area = math.pi * 150**2
    assert agglomerated_metal([area], [30.0], shape="sphere").volume_low == pytest.approx(area * 20)
    none = agglomerated_metal([], [30.0])
    assert (none.volume.value, none.volume.u, none.metal_area.value) == (0, 0, 0)
    bare = agglomerated_metal([area], [])
    assert bare.volume_low == 0
    assert bare.metal_area_high == pytest.approx(2 * area)


def _heap(rng: np.random.Generator, layers: int, d: float, across: float) -> tuple[float, float, float]:
    """Projected area, volume and surface of spheres stacked on a grid in ``layers`` that shrink upwards."""
    centres = []
    for k in range(layers):
        reach = across / 2 * (1 - k / (layers + 1)) ** 0.5
        u, v = np.meshgrid(np.arange(-reach, reach, d), np.arange(-reach, reach, d))
        keep = np.hypot(u, v) < reach
        shift = rng.uniform(0, d / 2, 2)
        centres.append(np.column_stack([u[keep] + shift[0], v[keep] + shift[1]]))
    p = np.concatenate(centres)
    pixels = np.arange(-across, across, d / 12)
    u, v = np.meshgrid(pixels, pixels)
    covered = np.zeros(u.shape, bool)
    for x, y in centres[0]:
        covered |= np.hypot(u - x, v - y) < d / 2
    from scipy.ndimage import binary_closing, binary_fill_holes

    outline = binary_fill_holes(binary_closing(covered, iterations=5))
    area = float(outline.sum()) * (d / 12) ** 2
    return area, len(p) * math.pi / 6 * d**3, len(p) * math.pi * d**2


@pytest.mark.parametrize("layers", [2, 3, 4, 5])
def test_heaps_of_spheres_lie_between_the_bounds(layers: int) -> None:
    area, volume, skin = _heap(np.random.default_rng(layers), layers, 20.0, 260.0)
    found = agglomerated_metal([area], np.full(50, 20.0), shape="sphere")
    assert found.volume_low < volume < found.volume_high
    assert found.metal_area_low < skin < found.metal_area_high
    # What is stated holds it too: the middle and the coverage factor of a rectangular distribution.
    assert abs(volume - found.volume.value) <= math.sqrt(3) * found.volume.u


def test_one_layer_packed_with_gaps_is_a_little_below_the_lower_bound() -> None:
    """Between spheres on a square grid a quarter of the layer is empty; the bound takes the outline as full."""
    area, volume, _ = _heap(np.random.default_rng(1), 1, 20.0, 260.0)
    found = agglomerated_metal([area], np.full(50, 20.0), shape="sphere")
    assert 0.7 * found.volume_low < volume < found.volume_low


def test_doubt_does_not_average_out() -> None:
    one = agglomerated_metal([5000.0], [20.0])
    many = agglomerated_metal(np.full(10, 5000.0), [20.0])
    assert many.volume.u == pytest.approx(10 * one.volume.u)


def test_heap_in_an_image_beside_single_particles() -> None:
    """From pixels: the heap is found as an agglomerate and its metal lies within what is stated."""
    rng = np.random.default_rng(7)
    d, rows, columns = 22.0, 420, 640
    image = np.full((rows, columns), 0.2)
    v, u = np.mgrid[0:rows, 0:columns]
    for x in np.arange(330, 630, 60.0):
        for y in np.arange(40, 400, 60.0):
            image[np.hypot(u - x, v - y) < d / 2] = 0.6
    count = 0
    for k in range(3):
        n = 60 - 18 * k
        for _ in range(n):
            x, y = 160 + (42 - 9 * k) * rng.standard_normal(), 210 + (42 - 9 * k) * rng.standard_normal()
            image[np.hypot(u - x, v - y) < d / 2] = 0.6 + 0.08 * rng.standard_normal()
            count += 1
    image = gaussian_filter(image, 1.2) + rng.normal(0, 0.02, image.shape)
    found = detect(np.clip(image, 0, 1).astype(np.float32))
    beside = found.x > 300
    assert beside.sum() == 30
    assert 1 <= found.clumps <= 4
    metal = agglomerated_metal(found.clump_area, found.diameter[beside], shape="sphere")
    # Members that stand apart were found as particles and are counted there.
    apart = float((math.pi / 6 * found.diameter[~beside] ** 3).sum())
    truth = count * math.pi / 6 * d**3 - apart
    assert metal.volume_low < truth < metal.volume_high
