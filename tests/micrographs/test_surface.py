"""Coverage, volumes, areas and gaps of particles of a stated shape."""

from __future__ import annotations

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.micrographs.surface import gaps, mass_per_area, share_in_frame, surface


@pytest.mark.reference(
    "10⁹ equal hemispheres of radius 22.41 nm and spheres of 35.57 nm hold 1 mC / 4 e of platinum, 0.505476 µg",
    "Faraday's law and geometry; derived",
    "derived",
)
def test_mass_of_equal_particles() -> None:
    # One particle in the middle of a frame of 1 µm²: mass per area × 1e-12 m² is that of one particle.
    for shape, diameter in (("hemisphere", 2 * 22.41e-9), ("sphere", 35.57e-9)):
        found = surface([5e-7], [5e-7], [diameter], width=1e-6, height=1e-6, shape=shape)
        assert mass_per_area(found.volume, 21450.0) * 1e-12 * 1e9 == pytest.approx(0.505476e-9, rel=2e-3)


@pytest.mark.reference(
    "6/(ρd): platinum of 3 nm 93.24 m²/g, gold of 10 nm 31.09 m²/g", "geometry; derived", "derived"
)
@pytest.mark.parametrize(("density", "d", "expected"), [(21450.0, 3e-9, 93.24), (19300.0, 10e-9, 31.09)])
def test_specific_area_of_spheres(density: float, d: float, expected: float) -> None:
    found = surface([5e-8], [5e-8], [d], width=1e-7, height=1e-7, shape="sphere")
    assert found.metal_area / mass_per_area(found.volume, density) / 1000 == pytest.approx(expected, rel=2e-4)


def test_share_of_a_disc_at_the_side_and_corner() -> None:
    assert share_in_frame(np.array([0.0]), np.array([50.0]), np.array([10.0]), 100, 100)[0] == pytest.approx(
        0.5
    )
    assert share_in_frame(np.array([0.0]), np.array([100.0]), np.array([10.0]), 100, 100)[0] == pytest.approx(
        0.25
    )
    assert share_in_frame(np.array([-6.0]), np.array([50.0]), np.array([10.0]), 100, 100)[0] == 0


def test_gaps() -> None:
    found = gaps(np.array([0.0, 30.0, 100.0]), np.zeros(3), np.array([10.0, 20.0, 40.0]))
    assert found == pytest.approx([15, 15, 40])
    assert np.isnan(gaps(np.zeros(1), np.zeros(1), np.ones(1))).all()


def test_gaps_of_very_unequal_particles_against_all_pairs() -> None:
    rng = np.random.default_rng(1)
    d = 20 * 2.0 ** rng.standard_normal(250)
    x, y = rng.uniform(0, 900, (2, 250))
    free = np.hypot(x[:, None] - x, y[:, None] - y) - d[:, None] / 2 - d / 2
    np.fill_diagonal(free, np.inf)
    assert gaps(x, y, d) == pytest.approx(np.maximum(free.min(axis=1), 0))


def test_refuses_no_frame() -> None:
    with pytest.raises(MethodError):
        surface([1], [1], [1], width=0, height=1)
