from __future__ import annotations

import math

import pytest

from halfcell.errors import MethodError
from halfcell.results import Measured
from halfcell.voltammetry.randles_sevcik import peak_current, quasi_reversible_factor, solve


@pytest.mark.reference(
    "Randles–Ševčík constant 2.69e5 at 25 °C; 20, 30, 37 °C",
    "Nicholson & Shain, Anal. Chem. 1964, 36, 706 (exact functions)",
    "derived",
)
@pytest.mark.parametrize(
    ("celsius", "constant"), [(25, 268645.25), (20, 270926.59), (30, 266420.59), (37, 263396.92)]
)
def test_constant(celsius: float, constant: float) -> None:
    # In A cm^-2 ... s^1/2 V^-1/2 mol^-1 cm^3; in SI units the same number times 1 (cm: 1e-4 m²·1e6 mol/m³·1e-2 m).
    found = peak_current(
        electrons=1, area=1e-4, concentration=1e6, diffusion=1e-4, rate=1.0, temperature=273.15 + celsius
    )
    assert found == pytest.approx(constant, rel=1e-7)


@pytest.mark.reference(
    "worked case: n=1, 0.0707 cm², 7.6e-6 cm²/s, 1 mM, 0.1 V/s -> 16.558 µA",
    "Nicholson & Shain, Anal. Chem. 1964, 36, 706 (exact functions)",
    "derived",
)
def test_worked_case() -> None:
    found = peak_current(electrons=1, area=0.0707e-4, concentration=1.0, diffusion=7.6e-10, rate=0.1)
    assert found * 1e6 == pytest.approx(16.5579, abs=1e-4)


@pytest.mark.reference(
    "irreversible constant 2.99e5 (298422.4)",
    "Nicholson & Shain, Anal. Chem. 1964, 36, 706 (exact functions)",
    "derived",
)
def test_irreversible_constant() -> None:
    found = peak_current(
        electrons=1,
        area=1e-4,
        concentration=1e6,
        diffusion=1e-4,
        rate=1.0,
        transfer="irreversible",
        alpha_n=1.0,
    )
    assert found == pytest.approx(298422.4, rel=2e-6)


@pytest.mark.parametrize("wanted", ["area", "diffusion", "concentration"])
@pytest.mark.parametrize("transfer", ["reversible", "irreversible"])
def test_round_trip(wanted: str, transfer: str) -> None:
    truth = {"area": 7e-6, "diffusion": 1.2e-9, "concentration": 0.8}
    alpha = Measured(value=0.45, u=0.01)
    i = peak_current(electrons=2, rate=1.0, transfer=transfer, alpha_n=0.45, **truth)
    given = {k: v for k, v in truth.items() if k != wanted}
    solved = solve(
        wanted, Measured(value=i, u=i * 0.01), electrons=2, transfer=transfer, alpha_n=alpha, **given
    )
    assert solved.value.value == pytest.approx(truth[wanted], rel=1e-9)
    relative = math.hypot(0.01, 0.5 * 0.01 / 0.45 if transfer == "irreversible" else 0.0) * (
        2 if wanted == "diffusion" else 1
    )
    assert solved.value.u / solved.value.value == pytest.approx(relative)


@pytest.mark.reference(
    "limits of K: 1 (fast) and 1.1108 alpha^1/2 (slow)",
    "Matsuda & Ayabe, Z. Elektrochem. 1955, 59, 494 (limits from Nicholson & Shain 1964)",
    "derived",
)
def test_quasi_reversible_factor_joins_the_limits() -> None:
    assert quasi_reversible_factor(50.0) == pytest.approx(1.0, abs=0.01)
    assert quasi_reversible_factor(3e-4) == pytest.approx(0.495763 * 0.5**0.5 / 0.4462947, rel=5e-3)
    middle = quasi_reversible_factor(0.3)
    assert 0.786 < middle < 1.0


def test_what_is_missing_is_named() -> None:
    with pytest.raises(MethodError, match="concentration"):
        solve("area", Measured(value=1e-5, u=1e-7), electrons=1, diffusion=1e-9)
