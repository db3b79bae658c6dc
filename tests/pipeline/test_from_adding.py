"""The demo's raw files in two halves, the second added to the answered study of the first, give the findings of all at once."""

from __future__ import annotations

import csv
import shutil
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import halfcell
from halfcell.cache import Cache
from halfcell.study.adding import add
from halfcell.study.edit import StudyEdit
from halfcell.study.edit_runs import RunsEdit
from halfcell.study.intake import intake
from halfcell.study.load import check
from halfcell.study.regroup import Cell, Regrouping, regroup
from halfcell.study.translate import BLANK

SOLUTIONS = {"electrolyte": "buffer", "electrolyte-air": "buffer-air"}
RENAMED = {"Cu-1": "copper, first", "Ni-2": "nickel, second"}


def of_nickel(name: str) -> bool:
    return name.startswith("Ni")


def in_air(name: str) -> bool:
    return "air" in name


def put_right(study: Path) -> None:
    """The person gives solutions and two electrodes other names."""
    changed = []
    for row in RunsEdit(study).rows.values():
        for column, names in (("electrode", RENAMED), ("solution", SOLUTIONS)):
            was = row.get(column, "")
            if was in names:
                changed.append(Cell(file=row["file"], column=column, was=was, value=names[was]))
    regroup(study, Regrouping(cells=tuple(changed)))


def answer(study: Path, demo: Path) -> None:
    """Everything that stands open, as the demo's notebook has it."""
    known = tomllib.loads((demo / "study.toml").read_text("utf-8"))
    edit = StudyEdit(study)
    for key in ("analyte", "reference_electrode", "electrons", "diffusion_coefficient"):
        edit.set(key, known[key])
    made(edit, known)
    for name in SOLUTIONS:
        if edit.get(("solutions", name)) is not None:
            edit.remove(("solutions", name))  # no row names it any more
    if edit.get("confounders.oxygen.level") is not None:
        edit.set("confounders.oxygen.level", known["confounders"]["oxygen"]["level"])
    for key, value in known["analysis"]["amperometry"].items():
        edit.set(("analysis", "amperometry", key), value)
    if edit.get("choice") is None:
        for must in known["choice"]["musts"]:
            edit.add_must(must)
        for want in known["choice"]["wants"]:
            edit.add_want(want)
    edit.save()
    cells(study, demo)


def made(edit: StudyEdit, known: dict[str, Any]) -> None:
    """The electrodes and solutions that the study has."""
    back = {new: old for old, new in RENAMED.items()}
    for name, table in edit.get("electrodes").items():
        if table["area"] == BLANK:
            for key, value in known["electrodes"][back.get(name, name)].items():
                edit.set(("electrodes", name, key), value)
    for name, table in edit.get("solutions").items():
        if table["description"] == BLANK and name in known["solutions"]:
            for key, value in known["solutions"][name].items():
                edit.set(("solutions", name, key), value)


def cells(study: Path, demo: Path) -> None:
    """What the rows leave open."""
    with (demo / "runs.csv").open(encoding="utf-8", newline="") as source:
        notebook = {Path(row["file"]).name: row for row in csv.DictReader(source)}
    runs = RunsEdit(study)
    for number, row in runs.rows.items():
        for column in ("step_potential", "scale", "order"):
            value = notebook[Path(row["file"]).name][column]
            if value and not row.get(column):
                runs.set(number, column, value)
    runs.save()


def parted(demo: Path, folder: Path, apart: Callable[[str], bool]) -> tuple[Path, Path]:
    """The raw files of the demo in two folders."""
    first, second = folder / "monday", folder / "tuesday"
    for part in ("data", "images"):
        for file in (demo / part).iterdir():
            target = (second if apart(file.name) else first) / part / file.name
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(file, target)
    return first, second


@pytest.mark.parametrize("apart", [of_nickel, in_air])
def test_the_findings_of_all_at_once(
    small_demo: Path, tmp_path: Path, common_root: Path, apart: Callable[[str], bool]
) -> None:
    first, second = parted(small_demo, tmp_path, apart)
    whole = tmp_path / "whole"
    for half in (first, second):
        shutil.copytree(half, whole, dirs_exist_ok=True)

    at_once = intake(whole, tmp_path / "at-once").folder
    put_right(at_once)
    answer(at_once, small_demo)

    in_two = intake(first, tmp_path / "in-two").folder
    put_right(in_two)
    answer(in_two, small_demo)
    added = add(second, in_two)
    assert added.left == ()
    assert added.electrodes == (("Ni-1", "Ni-2", "Ni-3") if apart is of_nickel else ())
    assert added.solutions == (() if apart is of_nickel else ("electrolyte-air",))
    rows = {Path(row["file"]).name: row for row in RunsEdit(in_two).rows.values()}
    if apart is of_nickel:
        assert rows["Ni-1_cv_1mM_50mVs.txt"]["solution"] == "buffer"
    else:
        assert rows["Cu-1_additions_air.csv"]["electrode"] == "copper, first"
    put_right(in_two)
    answer(in_two, small_demo)

    assert [str(p) for p in check(in_two) if p.severity == "error"] == []
    cache = Cache(common_root / "cache")
    mine, theirs = (
        {f.key: f.as_json() for f in halfcell.analyze(study, cache=cache).findings}
        for study in (in_two, at_once)
    )
    assert len(theirs) > 100
    assert set(mine) == set(theirs)
    for key, expected in theirs.items():
        assert {k: str(v) for k, v in mine[key].items() if k != "recordings"} == {
            k: str(v) for k, v in expected.items() if k != "recordings"
        }, key
        assert sorted(mine[key]["recordings"]) == sorted(expected["recordings"]), key
