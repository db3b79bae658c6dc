from __future__ import annotations

import math

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.results import Measured
from halfcell.voltammetry.loading import charge_of, loading, spheres_per_mass

# IUPAC standard atomic masses, g/mol, and mg/C as recomputed in the project's list of values.
PER_COULOMB = (("Ag", 107.8682, 1, 1.1179751), ("Cu", 63.546, 2, 0.3293040), ("Au", 196.96657, 3, 0.6804715), ("Pt", 195.084, 4, 0.5054758), ("Pd", 106.42, 2, 0.5514828), ("Ni", 58.6934, 2, 0.3041571))  # fmt: skip


@pytest.mark.reference(
    "mass per charge of six metals", "Faraday's law with IUPAC atomic masses, recomputed", "derived"
)
@pytest.mark.parametrize(("metal", "molar", "electrons", "expected"), PER_COULOMB)
def test_mass_per_coulomb(metal: str, molar: float, electrons: int, expected: float) -> None:
    found = loading(
        Measured(value=1.0, u=0.0),
        electrons=electrons,
        molar_mass=molar * 1e-3,
        area=1e-4,
        efficiency=Measured(value=1.0),
    )
    assert found.mass.value * 1e6 == pytest.approx(expected, rel=3e-6), metal


@pytest.mark.reference(
    "10.0 A for 12.0 h on Cu²⁺ deposits 142.25 g", "teaching example quoted in a documentation page", "seen"
)
def test_twelve_hours_of_copper() -> None:
    found = loading(
        Measured(value=10.0 * 12 * 3600, u=0.0),
        electrons=2,
        molar_mass=63.546e-3,
        area=1.0,
        efficiency=Measured(value=1.0),
    )
    assert found.mass.value * 1e3 == pytest.approx(142.25, abs=0.02)


@pytest.mark.reference(
    "10.23 A for 1 h on Ag⁺: 0.3817 mol, 41.17 g", "OpenStax Chemistry, chapter 17", "from memory"
)
def test_an_hour_of_silver() -> None:
    found = loading(
        Measured(value=10.23 * 3600, u=0.0),
        electrons=1,
        molar_mass=107.8682e-3,
        area=1.0,
        efficiency=Measured(value=1.0),
    )
    assert found.amount.value == pytest.approx(0.381695, abs=2e-5)
    assert found.mass.value * 1e3 == pytest.approx(41.173, abs=2e-3)


@pytest.mark.reference(
    "1 mC, 4 electrons, Pt: 0.5055 µg, as 1e9 spheres 35.57 nm across, hemispheres 22.41 nm in radius",
    "geometry and Faraday's law",
    "derived",
)
def test_particles_of_a_microgram() -> None:
    found = loading(
        Measured(value=1e-3, u=0.0),
        electrons=4,
        molar_mass=195.084e-3,
        area=1e-4,
        density=21450.0,
        efficiency=Measured(value=1.0),
    )
    assert found.mass.value * 1e9 == pytest.approx(0.505476, rel=1e-5)
    assert spheres_per_mass(found.mass.value, diameter=35.57e-9, density=21450.0) == pytest.approx(
        1e9, rel=2e-3
    )
    assert spheres_per_mass(
        found.mass.value, diameter=2 * 22.41e-9, density=21450.0, hemispheres=True
    ) == pytest.approx(1e9, rel=2e-3)


def test_unknown_efficiency_makes_an_upper_limit() -> None:
    found = loading(Measured(value=1e-3, u=1e-5), electrons=2, molar_mass=58.7e-3, area=1e-5)
    assert found.limit
    assert "upper limit" in found.mass.why
    assert not math.isfinite(found.thickness.value)


def test_charge_of_a_record() -> None:
    t = np.linspace(0, 30, 3001)
    i = -1e-4 * np.exp(-t / 5) + 1e-7 * np.random.default_rng(0).standard_normal(t.size)
    found = charge_of(t, i)
    assert abs(found.value - 5e-4 * (1 - math.exp(-6))) < 4 * found.u
    with pytest.raises(MethodError):
        charge_of(t[:3], i[:3])
