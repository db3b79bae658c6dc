from __future__ import annotations

import tomllib
from fnmatch import fnmatchcase
from pathlib import Path
from typing import Any

import pytest

from halfcell.errors import StudyError
from halfcell.study.edit import StudyEdit
from halfcell.study.edit_readers import in_force, keep_reading, patterns, starred

STUDY = """\
format = 1
analyte = "nitrite"  # of the ponds
reference_electrode = "Ag/AgCl, 3 M KCl"

[readers.old]
# These files cannot be understood by themselves.
files = "Ni-*.txt"
columns = { potential = "?", current = "?" }
skip = 3
"""
ALL = ("data/Ni-1.txt", "data/Ni-2.txt", "data/Cu-1.txt")
HINTS = {"columns": {"potential": 1, "current": 2}, "units": {"current": "uA"}}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "study.toml").write_text(STUDY, "utf-8")
    return tmp_path


def readers(folder: Path) -> dict[str, dict[str, Any]]:
    found: dict[str, dict[str, Any]] = tomllib.loads((folder / "study.toml").read_text("utf-8"))
    return found.get("readers", {})


def test_a_table_of_questions_is_replaced_by_the_answer(folder: Path) -> None:
    assert in_force(StudyEdit(folder), "data/Ni-2.txt") == ("old", {"columns": {}, "skip": 3})
    assert keep_reading(folder, ALL[:2], ALL, HINTS) == ("Ni-*.txt",)
    assert readers(folder) == {"ni": {"files": "Ni-*.txt", **HINTS}}
    text = (folder / "study.toml").read_text("utf-8")
    assert "# of the ponds" in text
    assert "cannot be understood" not in text


def test_a_table_that_speaks_of_others_stays_behind_the_new_one(folder: Path) -> None:
    keep_reading(folder, ALL[:1], ALL, HINTS)
    assert [t["files"] for t in readers(folder).values()] == ["Ni-1.txt", "Ni-*.txt"]
    edit = StudyEdit(folder)
    assert in_force(edit, "data/Ni-1.txt")[1] == HINTS
    assert in_force(edit, "data/Ni-2.txt")[0] == "old"
    assert in_force(edit, "data/Cu-1.txt") == ("", {})


def test_without_hints_the_table_goes(folder: Path) -> None:
    assert keep_reading(folder, ALL[:2], ALL, {}) == ()
    assert readers(folder) == {}


def test_two_files_of_one_name_cannot_be_told_apart(folder: Path) -> None:
    with pytest.raises(StudyError, match="Two folders hold a file"):
        keep_reading(folder, ["data/a/Ni-1.txt"], ["data/a/Ni-1.txt", "data/b/Ni-1.txt"], HINTS)
    assert set(readers(folder)) == {"old"}


@pytest.mark.parametrize(
    ("names", "others", "expected"),
    [
        (["a1.txt", "a2.txt"], ["b1.txt"], ("a*.txt",)),
        (["Ni_blank.txt", "Ni_1mM.txt"], ["Cu_blank.txt"], ("Ni_*.txt",)),
        (["a1.txt", "a2.txt"], ["a3.txt"], ("a1.txt", "a2.txt")),
        (["a1.txt", "b2.txt"], ["c.txt"], ("a*.txt", "b*.txt")),
        (["a[1].txt"], ["a1.txt"], ("a?*?.txt",)),
    ],
)
def test_patterns_match_what_is_meant_and_nothing_else(
    names: list[str], others: list[str], expected: tuple[str, ...]
) -> None:
    found = patterns(names, others)
    assert found == expected
    assert all(any(fnmatchcase(n, p) for p in found) for n in names)
    assert not any(fnmatchcase(o, p) for p in found for o in others)


def test_numbers_become_stars() -> None:
    assert starred("Ni-2_0.5mM.csv") == "Ni-*_*mM.csv"
    assert starred("2025") == "*"
