from __future__ import annotations

from pathlib import Path

import pytest

from halfcell.errors import StudyError
from halfcell.study import open_study
from halfcell.study.edit_runs import RunsEdit

GERMAN = (
    "# Messungen vom Mai\r\n"
    'file;electrode;technique;solution;"concentration";Scan rate;note\r\n'
    'data/ni1_blank.csv;Ni-1;cyclic voltammogram;base;;"50 mV/s";größer\r\n'
    "\r\n"
    "data/ni1_1mM.csv;Ni-1;cyclic voltammogram;base;1,5 mmol/L;50 mV/s;\r\n"
)


@pytest.mark.parametrize("encoding", ["utf-8-sig", "latin-1", "utf-16"])
def test_the_dialect_stays(study: Path, encoding: str) -> None:
    (study / "runs.csv").write_bytes(GERMAN.encode(encoding))
    edit = RunsEdit(study)
    assert sorted(edit.rows) == [3, 5]
    edit.set(5, "concentration", "0.25 mmol/L")
    added = edit.add(
        {
            "file": "data/cu1_blank.csv",
            "electrode": "Cu-1",
            "technique": "cyclic voltammogram",
            "solution": "base",
        }
    )
    edit.save()
    text = (study / "runs.csv").read_bytes().decode(encoding)
    assert text.splitlines()[:4] == GERMAN.splitlines()[:4]
    assert text.splitlines()[4] == "data/ni1_1mM.csv;Ni-1;cyclic voltammogram;base;0,25 mmol/L;50 mV/s;"
    assert added == 6
    assert text.endswith("Cu-1;cyclic voltammogram;base;;;\r\n")
    assert open_study(study).runs[1].concentration == pytest.approx(0.25)


def test_nothing_changed_is_nothing_written(study: Path) -> None:
    data = GERMAN.replace("\r\n\r\n", "\r\n").rstrip().encode()
    (study / "runs.csv").write_bytes(data)
    RunsEdit(study).save()
    assert (study / "runs.csv").read_bytes() == data


def test_a_lacking_column_is_added(study: Path) -> None:
    edit = RunsEdit(study)
    edit.set(3, "order", "2")
    edit.save()
    assert open_study(study).runs[1].order == 2
    edit.remove(3)
    edit.save()
    assert len(open_study(study).runs) == 2


def test_refusals(study: Path) -> None:
    edit = RunsEdit(study)
    with pytest.raises(StudyError, match="did you mean 'scan_rate'"):
        edit.set(2, "scanrate", "1 V/s")
    with pytest.raises(StudyError, match="no row 9"):
        edit.set(9, "note", "x")
    (study / "runs.csv").write_text("file,electrode,technique\n", encoding="utf-8")
    with pytest.raises(StudyError, match="meanwhile"):
        edit.save()
