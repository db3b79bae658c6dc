from __future__ import annotations

from pathlib import Path

import pytest

import halfcell
from halfcell.study import Study, decisions


def test_what_is_known_of_a_study(study: Path) -> None:
    opened = halfcell.open_study(study)
    assert isinstance(opened, Study)
    assert opened.electrode("Ni-1").material == "nickel"
    assert opened.group("Ni-1") == "nickel"
    assert opened.attributes("Cu-1") == {
        "material": "copper",
        "role": "candidate",
        "recipe": "",
        "batch": "",
        "area": "0.0707 cm^2",
    }
    assert [r.file for r in opened.runs_of("cyclic voltammogram", electrode="Ni-1")] == [
        "data/ni1_blank.csv",
        "data/ni1_1mM.csv",
    ]
    assert opened.runs_of("micrograph") == ()
    assert len(opened.runs_of()) == 3
    solution = opened.solution(opened.runs[0])
    assert solution is not None
    assert solution.oxygen == "removed"


def test_groups_by_any_attribute(study: Path) -> None:
    text = (study / "study.toml").read_text("utf-8")
    text = text.replace("format = 1", 'format = 1\ngroup_by = "seeding"')
    text = text.replace('material = "nickel"', 'material = "nickel"\nfactors = { seeding = true }')
    (study / "study.toml").write_text(text, encoding="utf-8")
    opened = halfcell.open_study(study)
    assert opened.group("Ni-1") == "yes"
    assert opened.group("Cu-1") == ""


def test_decisions_of_a_file(study: Path) -> None:
    decisions.append(study, {"kind": "use cycle", "file": "data/ni1_1mM.csv", "cycle": 2})
    opened = halfcell.open_study(study)
    assert [d.kind for d in opened.decisions("data/ni1_1mM.csv")] == ["use cycle"]
    assert opened.decisions("data/ni1_1mM.csv", "peak window") == ()
    assert opened.decisions("data/ni1_blank.csv") == ()


def test_nothing_can_be_changed_behind_the_file(study: Path) -> None:
    opened = halfcell.open_study(study)
    with pytest.raises(Exception, match="frozen"):
        opened.file.title = "x"  # type: ignore[misc]
    with pytest.raises(AttributeError):
        opened.runs = ()  # type: ignore[misc]
