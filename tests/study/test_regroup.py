from __future__ import annotations

import csv
import tomllib
from pathlib import Path
from typing import Any

import pytest

from halfcell.errors import StudyError
from halfcell.study.regroup import Cell, Regrouping, regroup, without

STUDY = """\
format = 1
analyte = "nitrite"  # of the ponds
reference_electrode = "Ag/AgCl, 3 M KCl"

[solutions.buffer]
description = "buffer"

[electrodes.one]
material = "one"  # guessed from the name
role = "candidate"
area = "0.0707 cm^2"

[electrodes.two]
material = "two"
area = "?"
density = "8.9 g/cm^3"
"""
RUNS = """\
file,electrode,technique,solution,guessed
data/a.csv,one,cyclic voltammogram,buffer,"electrode, solution from the name; technique from the data"
data/b.csv,one,?,buffer,electrode from the name
data/c.csv,two,potential step,buffer,
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "study.toml").write_text(STUDY, "utf-8")
    (tmp_path / "runs.csv").write_text(RUNS, "utf-8")
    return tmp_path


def rows(folder: Path) -> dict[str, dict[str, str]]:
    with (folder / "runs.csv").open(encoding="utf-8", newline="") as source:
        return {row["file"][5]: row for row in csv.DictReader(source)}


def toml(folder: Path) -> dict[str, Any]:
    return tomllib.loads((folder / "study.toml").read_text("utf-8"))


def renamed(*files: str, value: str, was: str = "one") -> tuple[Cell, ...]:
    return tuple(Cell(file=f"data/{f}.csv", column="electrode", was=was, value=value) for f in files)


def test_a_renamed_electrode_keeps_what_was_known_and_the_guess_is_gone(folder: Path) -> None:
    change = Regrouping(
        cells=renamed("a", "b", value="Ni-1"), electrodes={"Ni-1": {"batch": "A", "role": "bulk"}}
    )
    regroup(folder, change)
    made = toml(folder)["electrodes"]
    assert made["Ni-1"] == {"material": "nickel", "role": "bulk", "batch": "A", "area": "0.0707 cm^2"}
    assert set(made) == {"Ni-1", "two"}
    assert rows(folder)["a"]["guessed"] == "solution from the name; technique from the data"
    assert "# of the ponds" in (folder / "study.toml").read_text("utf-8")


def test_new_solutions_are_asked_about_and_a_known_electrode_stays(folder: Path) -> None:
    cells = (
        *renamed("c", value="one", was="two"),
        Cell(file="data/a.csv", column="solution", was="buffer", value="air"),
    )
    regroup(folder, Regrouping(cells=cells))
    assert toml(folder)["solutions"]["air"] == {"description": "?"}
    # More is known of it than was guessed.
    assert "two" in toml(folder)["electrodes"]


def test_files_left_out_lose_their_row_and_checked_rows_their_marks(folder: Path) -> None:
    regroup(folder, Regrouping(left_out=("data/a.csv", "data/b.csv"), checked=True))
    assert {name: row["guessed"] for name, row in rows(folder).items()} == {"c": ""}


@pytest.mark.parametrize(("area", "stays"), [("0.0707 cm^2", True), ("?", False)])
def test_an_electrode_without_files_stays_where_a_person_told_its_area(
    area: str, stays: bool, folder: Path
) -> None:
    (folder / "study.toml").write_text(STUDY.replace("0.0707 cm^2", area), "utf-8")
    regroup(folder, Regrouping(left_out=("data/a.csv", "data/b.csv")))
    assert ("one" in toml(folder)["electrodes"]) is stays


def test_a_renamed_electrode_hands_all_that_is_known_to_the_new_one(folder: Path) -> None:
    regroup(folder, Regrouping(cells=renamed("c", value="Cu-1", was="two")))
    made = toml(folder)["electrodes"]
    assert "two" not in made
    assert made["Cu-1"]["density"] == "8.9 g/cm^3"


def test_a_cell_changed_meanwhile_is_not_overwritten(folder: Path) -> None:
    before = (folder / "runs.csv").read_bytes(), (folder / "study.toml").read_bytes()
    with pytest.raises(StudyError, match="changed to 'two' by another window"):
        regroup(folder, Regrouping(cells=(*renamed("a", value="x"), *renamed("c", value="x"))))
    with pytest.raises(StudyError, match="no row"):
        regroup(folder, Regrouping(left_out=("data/z.csv",)))
    with pytest.raises(StudyError, match="no electrode 'three'"):
        regroup(folder, Regrouping(electrodes={"three": {"role": "bare"}}))
    assert before == ((folder / "runs.csv").read_bytes(), (folder / "study.toml").read_bytes())


@pytest.mark.parametrize(
    ("note", "columns", "left"),
    [
        ("electrode, order from the name; technique from the data", {"order"}, "electrode from the name; technique from the data"),
        ("technique from the data", {"technique"}, ""),
        ("", {"technique"}, ""),
    ],
)  # fmt: skip
def test_marks_of_guesses(note: str, columns: set[str], left: str) -> None:
    assert without(note, columns) == left
