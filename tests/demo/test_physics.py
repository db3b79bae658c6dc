"""The demo's model against closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest

from halfcell.constants import FARADAY
from halfcell.demo import physics
from halfcell.demo.physics import F_RT, Reaction

AREA = 7.07e-6


def reaction(potential: float = 0.4, transfer: float = 0.5) -> Reaction:
    return Reaction(sign=1, electrons=2, transfer=transfer, potential=potential, diffusion=1.9e-9)


@pytest.mark.reference(
    "Largest current function of an irreversible sweep is 0.4958 (demo generator)",
    "Nicholson & Shain, Anal. Chem. 1964, 36, 706 (exact series)",
    "derived",
)
@pytest.mark.parametrize(("rate", "transfer"), [(0.01, 0.5), (0.05, 0.5), (0.2, 0.4)])
def test_irreversible_peak(rate: float, transfer: float) -> None:
    sweep = physics.triangle(-0.2, 1.2, rate, 0.0005, 1)
    current = physics.diffusing(reaction(transfer=transfer), sweep.potential, sweep.spacing, 1.0, AREA)
    expected = 0.4958 * 2 * FARADAY * AREA * math.sqrt(1.9e-9 * transfer * F_RT * rate)
    assert current.max() == pytest.approx(expected, rel=2e-3)


@pytest.mark.reference(
    "Diffusion current after a step, i = nFAc(D/πt)^½ (demo generator)", "Cottrell equation", "derived"
)
def test_a_held_potential_gives_the_cottrell_current() -> None:
    time = np.arange(2001) * 0.01
    current = physics.diffusing(reaction(), np.full(time.size, 1.4), 0.01, 1.0, AREA)
    later = time > 2
    assert current[later] == pytest.approx(physics.cottrell(time[later], 2, 1.9e-9, 1.0, AREA), rel=2e-3)


def test_peak_goes_with_concentration_and_root_of_scan_rate() -> None:
    heights = []
    for rate, concentration in ((0.02, 1.0), (0.08, 1.0), (0.02, 3.0)):
        sweep = physics.triangle(-0.2, 1.2, rate, 0.001, 1)
        heights.append(
            physics.diffusing(reaction(), sweep.potential, sweep.spacing, concentration, AREA).max()
        )
    assert heights[1] / heights[0] == pytest.approx(2, rel=5e-3)
    assert heights[2] / heights[0] == pytest.approx(3, rel=1e-12)


def test_charging_settles_at_capacitance_times_scan_rate() -> None:
    sweep = physics.triangle(0.0, 0.5, 0.1, 0.001, 2)
    current = physics.charging(sweep.potential, sweep.spacing, 5e-6, 1000.0)
    assert current[400] == pytest.approx(5e-7, rel=1e-6)
    assert current[900] == pytest.approx(-5e-7, rel=1e-6)


def test_growth_has_the_charge_and_time_it_was_made_for() -> None:
    growth = physics.growth_for(5e-4, 30.0, 1.5)
    time = np.linspace(0, 30, 300001)
    current = growth.current(time)
    assert np.trapezoid(current, time) == pytest.approx(5e-4, rel=1e-5)
    assert time[np.argmax(current)] == pytest.approx(1.5, rel=1e-3)


@pytest.mark.reference(
    "Product i_m²·t_m = 0.1629 (zFc)²D for instantaneous growth (demo generator)",
    "Scharifker & Hills 1983",
    "from memory",
)
def test_growth_keeps_the_product_of_its_peak() -> None:
    growth = physics.growth_for(5e-4, 30.0, 1.5)
    diffusion = 1e-9
    found = physics.nuclei(growth, electrons=2, area=AREA, diffusion=diffusion, molar_volume=6.6e-6)
    top = growth.current(np.array([1.5]))[0] / AREA
    assert top**2 * 1.5 == pytest.approx(
        0.1629 * (2 * FARADAY * found.concentration) ** 2 * diffusion, rel=1e-3
    )
    assert found.density > 0


def test_approach_reaches_ninety_percent_in_t90() -> None:
    time = np.linspace(0, 50, 5001)
    current = physics.approach(time, np.array([10.0]), np.array([1.0, 3.0]), 2.5)
    assert current[time < 10] == pytest.approx(1.0)
    assert np.interp(12.5, time, current) == pytest.approx(2.8, rel=1e-6)


def test_noise_has_its_spread_and_memory() -> None:
    rng = np.random.default_rng(3)
    slow = physics.noise(rng, 200_000, 0.0, 2e-9, 0.8)
    assert slow.std() == pytest.approx(2e-9, rel=0.02)
    assert np.corrcoef(slow[1:], slow[:-1])[0, 1] == pytest.approx(0.8, abs=0.01)
