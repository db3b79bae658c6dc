from __future__ import annotations

import pytest

from halfcell.study.intake_names import pieces
from halfcell.study.name_grid import MEANINGS, cells_of, name_grid

FILES = (
    "data/Ni-1_cv_1mM_50mVs.csv",
    "data/Ni-2_cv_air_blank_0.1Vs.csv",
    "data/old/Cu-1_IT3_run2_5.csv",
    "images/Ni-1_sem1.png",
)


def values(key: str) -> tuple[str, ...]:
    return next(p.values for p in name_grid(FILES) if p.key == key)


def test_what_is_understood_stands_in_one_column_wherever_it_is_in_the_names() -> None:
    assert values("scan_rate") == ("50mVs", "0.1Vs", "", "")
    assert values("blank") == ("", "blank", "", "")
    assert values("technique") == ("cv", "cv", "", "sem1")
    assert values("counter") == ("", "", "run2", "")
    assert values("part 1") == ("Ni", "Ni", "old", "Ni")
    assert values("part 2") == ("1", "2", "Cu", "1")


def test_what_the_parts_are_taken_for_gives_the_cells() -> None:
    parts = name_grid(FILES)
    meanings = {p.key: p.meaning for p in parts}
    assert set(meanings.values()) <= set(MEANINGS)
    cells, made = cells_of(parts, meanings, 0)
    assert cells == {
        "electrode": "Ni-1",
        "technique": "cyclic voltammogram",
        "concentration": "1 mmol/L",
        "scan_rate": "50 mV/s",
    }
    assert made == {"material": "nickel"}
    cells, _ = cells_of(parts, meanings, 1)
    assert (cells["concentration"], cells["scan_rate"], cells["solution"]) == ("0 mol/L", "0.1 V/s", "air")


def test_a_bare_number_takes_the_unit_that_is_said() -> None:
    parts = name_grid(FILES)
    said = {"part 1": "batch", "part 2": "material", "part 3": "electrode", "counter": "order"}
    said |= {"part 5": "concentration umol/L"}
    cells, made = cells_of(parts, said, 2)
    assert cells == {"electrode": "old-Cu-1", "order": "2", "concentration": "5 umol/L"}
    assert made == {"material": "copper", "batch": "old"}
    # A part that cannot be what it is said to be gives nothing.
    assert cells_of(parts, {"part 2": "scan_rate mV/s"}, 2) == ({}, {})


def test_names_without_marks_are_understood_as_by_the_intake() -> None:
    parts = name_grid(["data/Ni2CV1mM50mVs.csv", "data/Cu1CV2mM50mVs.csv"])
    assert {p.key: p.values for p in parts} == {
        "part 1": ("Ni2", "Cu1"),
        "technique": ("CV", "CV"),
        "concentration": ("1mM", "2mM"),
        "scan_rate": ("50mVs", "50mVs"),
    }


@pytest.mark.parametrize(
    ("lead", "meaning"),
    [
        ("Ni", "material"),
        ("Ni1", "material"),
        ("bare2", "material"),
        ("exp5", "electrode"),
        ("?", "electrode"),
    ],
)
def test_only_metals_and_bare_substrates_are_taken_for_a_material(lead: str, meaning: str) -> None:
    assert name_grid([f"data/{lead}_{end}_cv.csv" for end in "abc"])[0].meaning == meaning


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("Ni1 0p5 mM KCl", [("part", "Ni1"), ("medium", "0p5 mM KCl")]),
        ("2025-03-04_Ru_dpv", [("part", "Ru"), ("technique", "dpv")]),
        ("", []),
    ],
)
def test_pieces_in_their_order(name: str, expected: list[tuple[str, str]]) -> None:
    assert pieces(name) == expected
