from __future__ import annotations

import pytest

from halfcell.study.intake_names import made_of, name_parts, shared_lead_removed


@pytest.mark.parametrize(
    ("name", "electrode", "technique", "concentration", "scan_rate", "air", "blank"),
    [
        ("data/Ni-1_cv_blank_25mVs.txt", "Ni-1", "cyclic voltammogram", "", "25 mV/s", "", True),
        (
            "Ni-seeded-2_cv_1mM_50mVs.txt",
            "Ni-seeded-2",
            "cyclic voltammogram",
            "1 mmol/L",
            "50 mV/s",
            "",
            False,
        ),
        (
            "Cu1 CV 100 mV-s 0.5 mM air.csv",
            "Cu1",
            "cyclic voltammogram",
            "0.5 mmol/L",
            "100 mV/s",
            "air",
            False,
        ),
        (
            "cv-Rh_3-50mV_s-250uM-N2.dat",
            "Rh_3",
            "cyclic voltammogram",
            "250 umol/L",
            "50 mV/s",
            "removed",
            False,
        ),
        ("Ni2CV1mM50mVs.txt", "Ni2", "cyclic voltammogram", "1 mmol/L", "50 mV/s", "", False),
        ("CV(3) Cu-1 1,0mM.csv", "Cu-1", "cyclic voltammogram", "1 mmol/L", "", "", False),
        ("Kupfer1 Luft Leerwert 50.csv", "Kupfer1", "", "", "", "air", True),
        ("Nickel 3 Leerprobe Zyklo 50mVs.txt", "Nickel 3", "cyclic voltammogram", "", "50 mV/s", "", True),
        ("Ni-1 Zugaben Protokoll.csv", "Ni-1", "additions", "", "", "", False),
        ("2026-05-04_Ru2_LSV_0mM.txt", "Ru2", "linear sweep", "0 mmol/L", "", "", True),
        ("Ni1_additions_air.csv", "Ni1", "additions", "", "", "air", False),
        ("Ni-disc-1_step_100uM.txt", "Ni-disc-1", "potential step", "100 umol/L", "", "", False),
        ("Ni1/cv_1,5mM_0.1Vs.csv", "Ni1", "cyclic voltammogram", "1.5 mmol/L", "0.1 V/s", "", False),
        ("Cu-1_field2.png", "Cu-1", "micrograph", "", "", "", False),
        ("Pt_SWV_10µM_rep3.txt", "Pt", "square wave", "10 umol/L", "", "", False),
        ("deaerated/Ni-4_DPV_background.txt", "Ni-4", "differential pulse", "", "", "removed", True),
        ("0001.txt", "", "", "", "", "", False),
    ],
)
def test_parts_of_names(
    name: str, electrode: str, technique: str, concentration: str, scan_rate: str, air: str, blank: bool
) -> None:
    parts = name_parts(name)
    assert parts.electrode == electrode
    assert parts.technique == technique
    assert parts.concentration == concentration
    assert parts.scan_rate == scan_rate
    assert parts.air == air
    assert parts.blank is blank


@pytest.mark.parametrize(
    ("name", "electrode", "concentration", "medium"),
    [
        ("pt111_0p1M_HClO4.csv", "pt111", "", "0.1 mol/L HClO4"),
        ("au111_film_KCl.csv", "au111_film", "", "KCl"),
        ("Ni1_0.1M NaOH_2mM_50mVs.csv", "Ni1", "2 mmol/L", "0.1 mol/L NaOH"),
        ("Ni1_2mM_0.1M-NaOH.csv", "Ni1", "2 mmol/L", "0.1 mol/L NaOH"),
    ],
)
def test_the_supporting_electrolyte_is_not_the_analyte(
    name: str, electrode: str, concentration: str, medium: str
) -> None:
    parts = name_parts(name)
    assert (parts.electrode, parts.concentration, parts.medium) == (electrode, concentration, medium)


def test_a_lead_that_all_share_is_no_part_of_the_name() -> None:
    assert shared_lead_removed(["exp5_Ni1", "exp5_Cu1"]) == {"exp5_Ni1": "Ni1", "exp5_Cu1": "Cu1"}
    assert shared_lead_removed(["Ni-1", "Ni-2"]) == {"Ni-1": "Ni-1", "Ni-2": "Ni-2"}
    assert shared_lead_removed(["exp5_Ni1"]) == {"exp5_Ni1": "exp5_Ni1"}


@pytest.mark.parametrize(
    ("electrode", "material", "role"),
    [
        ("Ni-1", "nickel", "candidate"),
        ("ru2", "ruthenium", "candidate"),
        ("Ni-seeded-2", "nickel, seeded", "control"),
        ("Ni-disc-1", "nickel disc", "bulk"),
        ("SPC-1", "bare carbon", "bare"),
        ("MyAlloy-3", "MyAlloy", "candidate"),
    ],
)
def test_material_and_role(electrode: str, material: str, role: str) -> None:
    assert made_of(electrode).material == material
    assert made_of(electrode).role == role
