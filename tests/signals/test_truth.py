from __future__ import annotations

import math

import numpy as np
import pytest

from halfcell.constants import thermal_voltage
from halfcell.signals.truth import bound, charging, diffusing, programme


@pytest.mark.reference(
    "reversible peak 0.4463 at -28.5 mV, quasi-infinite sweep",
    "Nicholson & Shain, Anal. Chem. 1964, 36, 706 (exact function)",
    "derived",
)
def test_reversible_sweep() -> None:
    p = programme((-0.4, 0.4), 0.1, step=5e-4)
    i = diffusing(p.time, p.potential, formal=0.0, amount=2e-6)
    scale = 2e-6 * math.sqrt(0.1 / thermal_voltage())
    top = int(np.argmax(i))
    assert i[top] / scale == pytest.approx(0.4462947, rel=1e-4)
    assert p.potential[top] == pytest.approx(0.02849, abs=5e-4)


@pytest.mark.reference(
    "irreversible peak 0.4958 and its potential",
    "Nicholson & Shain, Anal. Chem. 1964, 36, 706 (exact series)",
    "derived",
)
def test_irreversible_sweep() -> None:
    p = programme((-0.2, 0.8), 0.1, step=5e-4)
    k = 1e-4
    i = diffusing(p.time, p.potential, formal=0.0, amount=1.0, rate_constant=k, alpha=0.5)
    b = 0.5 * 0.1 / thermal_voltage()
    top = int(np.argmax(i))
    assert i[top] / math.sqrt(b) == pytest.approx(0.495763, rel=2e-4)
    expected = (thermal_voltage() * math.log(math.sqrt(math.pi * b) / k) + 0.0053446) / 0.5
    assert p.potential[top] == pytest.approx(expected, abs=6e-4)


@pytest.mark.reference(
    "catalytic plateau nFAc(Dk)^1/2", "Saveant & Vianello 1965 (from memory)", "from memory"
)
def test_catalytic_plateau() -> None:
    p = programme((-0.4, 0.4), 0.05)
    i = diffusing(p.time, p.potential, formal=0.0, amount=1.0, scale=40.0)
    assert i[-1] == pytest.approx(math.sqrt(40.0), rel=1e-3)


def test_reduction_mirrors_oxidation() -> None:
    up, down = programme((-0.3, 0.3), 0.05), programme((0.3, -0.3), 0.05)
    a = diffusing(up.time, up.potential, formal=0.0, amount=1.0, rate_constant=0.3)
    b = diffusing(down.time, down.potential, formal=0.0, amount=1.0, rate_constant=0.3, oxidation=False)
    np.testing.assert_allclose(a, -b, rtol=1e-9, atol=1e-12)


@pytest.mark.reference(
    "bound couple: width 90.6/n mV, i_p = n²F²vAΓ/4RT",
    "Bard & Faulkner, Electrochemical Methods (from memory)",
    "derived",
)
def test_bound_couple() -> None:
    e = np.linspace(-0.4, 0.4, 8001)
    i = bound(e, 0.1, formal=0.0, charge=1e-6, electrons=1)
    assert i.max() == pytest.approx(1e-6 / (4 * thermal_voltage()) * 0.1, rel=1e-6)
    above = e[i >= i.max() / 2]
    assert np.ptp(above) == pytest.approx(0.0905790, abs=2e-4)
    assert np.trapezoid(i, e) / 0.1 == pytest.approx(1e-6, rel=1e-5)


def test_charging_is_square() -> None:
    p = programme((0.0, 0.5, 0.0), 0.1)
    i = charging(p.time, p.potential, capacitance=1e-6)
    assert i[100] == pytest.approx(1e-7)
    assert i[-100] == pytest.approx(-1e-7)
