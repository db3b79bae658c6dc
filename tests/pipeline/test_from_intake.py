"""The raw files of the demo alone, through intake and completed from its questions, give the same findings."""

from __future__ import annotations

import csv
import shutil
import tomllib
from pathlib import Path
from typing import Any

import halfcell
from halfcell.cache import Cache
from halfcell.study.edit import StudyEdit
from halfcell.study.edit_runs import RunsEdit
from halfcell.study.intake import intake
from halfcell.study.load import check

SOLUTIONS = {"electrolyte": "buffer", "electrolyte-air": "buffer-air"}
"""Intake's name of a solution to the demo's."""


def answer(study: Path, demo: Path, questions: str) -> None:
    """What a person who knows the demo's notebook writes; each answer only where it was asked for."""
    known = tomllib.loads((demo / "study.toml").read_text("utf-8"))
    edit = StudyEdit(study)
    for key in ("analyte", "reference_electrode", "oxidation_current", "temperature"):
        assert f"study.toml, {key}" in questions
        edit.set(key, known[key])
    for key in ("title", "electrons", "diffusion_coefficient"):
        edit.set(key, known[key])
    assert "study.toml, electrodes" in questions
    for name, made in known["electrodes"].items():
        for key, value in made.items():
            edit.set(("electrodes", name, key), value)
    for mine, theirs in SOLUTIONS.items():
        assert f"solutions.{mine}" in questions
        for key, value in known["solutions"][theirs].items():
            edit.set(("solutions", mine, key), value)
    edit.set("confounders.oxygen.level", known["confounders"]["oxygen"]["level"])
    for key, value in known["analysis"]["amperometry"].items():
        edit.set(("analysis", "amperometry", key), value)
    assert "[choice]" in questions
    for must in known["choice"]["musts"]:
        edit.add_must(must)
    for want in known["choice"]["wants"]:
        edit.add_want(want)
    edit.save()
    with (demo / "runs.csv").open(encoding="utf-8", newline="") as source:
        notebook = {Path(row["file"]).name: row for row in csv.DictReader(source)}
    runs = RunsEdit(study)
    for number, row in runs.rows.items():
        for column in ("step_potential", "scale", "order"):
            value = notebook[Path(row["file"]).name][column]
            if value and not row[column]:
                runs.set(number, column, value)
    runs.save()


def as_the_demo_says(text: Any) -> Any:
    """Intake's names of the solutions in the demo's words."""
    return str(text).replace("electrolyte", "buffer")


def test_the_same_findings(small_demo: Path, small_analysis: Any, tmp_path: Path, common_root: Path) -> None:
    raw = tmp_path / "raw"
    for part in ("data", "images"):
        shutil.copytree(small_demo / part, raw / part)
    study = tmp_path / "study"
    made = intake(raw, study)
    answer(study, small_demo, "\n".join(made.questions))
    assert [str(p) for p in check(study) if p.severity == "error"] == []
    again = halfcell.analyze(study, cache=Cache(common_root / "cache"))
    mine = {as_the_demo_says(f.key): f for f in again.findings}
    theirs = {f.key: f for f in small_analysis.findings}
    assert set(mine) == set(theirs)
    assert len(theirs) > 100
    for key, expected in theirs.items():
        found = mine[key].as_json()
        for column, value in expected.as_json().items():
            if column == "recordings":
                assert sorted(found[column]) == sorted(value), key
            else:
                assert as_the_demo_says(found[column]) == str(value), (key, column)
