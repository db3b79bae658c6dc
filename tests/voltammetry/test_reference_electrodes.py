from __future__ import annotations

import pytest

from halfcell.errors import MethodError
from halfcell.results import Measured
from halfcell.voltammetry.reference_electrodes import REFERENCE_ELECTRODES, convert, reference_electrode

VALUES = {
    "SCE": 0.2412, "calomel, 1 M KCl": 0.2801, "calomel, 0.1 M KCl": 0.3337, "Ag/AgCl, saturated KCl": 0.197, "Ag/AgCl, 3.5 M KCl": 0.205,
    "Ag/AgCl, 3 M KCl": 0.210, "Ag/AgCl, 0.1 M KCl": 0.2881, "Hg/HgO, 0.1 M NaOH": 0.165, "Hg/Hg2SO4, 1 M H2SO4": 0.6739, "Cu/CuSO4, saturated": 0.316,
}  # fmt: skip


@pytest.mark.reference(
    "potentials of ten reference electrodes against SHE at 25 °C",
    "secondary tables quoting Bard & Faulkner 2000; Sawyer; Meites",
    "seen",
)
@pytest.mark.parametrize(("name", "value"), VALUES.items())
def test_table(name: str, value: float) -> None:
    assert REFERENCE_ELECTRODES[name].potential == pytest.approx(value, abs=1e-9)


@pytest.mark.reference(
    "+0.100 V vs SCE is +0.144 V vs Ag/AgCl, saturated KCl (+0.142 with 0.199)", "teaching page", "seen"
)
def test_a_worked_conversion() -> None:
    found = convert(Measured(value=0.100, u=0.001), from_="SCE", to="Ag/AgCl, sat. KCl")
    assert found.potential.value == pytest.approx(0.144, abs=5e-4)
    assert abs(found.potential.value - 0.142) <= found.potential.u


@pytest.mark.reference("ln10 RT/F = 59.159 mV at 25 °C", "CODATA constants", "derived")
def test_reversible_hydrogen() -> None:
    found = convert(Measured(value=0.0, u=0.0), from_="SHE", to="RHE", ph=7.0)
    assert found.potential.value == pytest.approx(7 * 0.05915935, abs=1e-7)
    assert "pH 7" in found.notes[0]
    warm = convert(Measured(value=0.0, u=0.0), from_="SHE", to="RHE", ph=7.0, temperature=310.15)
    assert warm.potential.value == pytest.approx(7 * 0.0615404, abs=1e-6)


def test_there_and_back() -> None:
    there = convert(Measured(value=0.3, u=0.0), from_="Ag/AgCl, 3 M KCl", to="SCE")
    back = convert(there.potential, from_="SCE", to="Ag/AgCl, 3 M KCl")
    assert back.potential.value == pytest.approx(0.3)


def test_a_missing_temperature_coefficient_is_said() -> None:
    found = convert(Measured(value=0.3, u=0.0), from_="Ag/AgCl, 3 M KCl", to="SHE", temperature=310.15)
    assert "no temperature coefficient" in found.notes[0]
    assert found.potential.u > 0.01


def test_an_unknown_electrode_names_a_near_one() -> None:
    with pytest.raises(MethodError, match=r"SCE|calomel"):
        reference_electrode("calomell")
    with pytest.raises(MethodError, match="pH"):
        convert(Measured(value=0.3), from_="SCE", to="RHE")


@pytest.mark.parametrize(
    "name", ["Ag/AgCl, 3 M KCl", "Ag/AgCl (3 M KCl)", "ag/agcl 3M KCl", "Ag/AgCl, 3 mol/L KCl", "NHE"]
)
def test_usual_spellings(name: str) -> None:
    assert reference_electrode(name).name in {"Ag/AgCl, 3 M KCl", "SHE"}
