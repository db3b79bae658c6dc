"""What a folder lacks, as chapters by what to do about it."""

from __future__ import annotations

from pathlib import Path

from halfcell.app.asking import answer, chapters
from halfcell.errors import Problem

LACKING = "is still to be filled in: it takes text in quotes."


def of(place: str, what: str = LACKING, *, file: str = "study.toml", **more: str) -> Problem:
    return Problem(file=file, place=place, what=what, example="x = 1", **more)


def test_problems_stand_by_what_to_do_about_them() -> None:
    found = chapters(
        [
            of("readers.cu.columns.potential"),
            of("readers.cu.units.potential"),
            of("electrodes.Ni-1.area (line 7)"),
            of("electrodes.Ni-2.area (line 9)"),
            of("analyte (line 3)"),
            of("row 4, column scan_rate", "no time", file="runs.csv", severity="warning"),
            of("line 3", "is no TOML"),
        ],
        {4: "data/a.csv"},
    )
    assert [c.title for c in found] == [
        "Show how the files are read",
        "Answer",
        "Mend in the files themselves",
        "Worth a look; nothing waits for it",
    ]
    show, ask, mend, look = found
    assert show.groups[0].link == "/files"
    assert [g.title for g in ask.groups] == ["What is to be sensed?", "How large is each electrode?"]
    assert [q.label for q in ask.groups[1].questions] == ["Ni-1", "Ni-2"]
    # That nothing is filled in need not be said: the question says it.
    assert {q.words for g in ask.groups for q in g.questions} == {""}
    assert mend.groups[0].questions[0].what == "is no TOML"
    (question,) = look.groups[0].questions
    assert question.label == "data/a.csv, row 4"
    assert question.words == "no time"


def test_one_file_that_cannot_be_read_leads_to_its_lines() -> None:
    (chapter,) = chapters([of("lines 1 …", "no headings", file="data/a b.csv")])
    (group,) = chapter.groups
    assert group.link == "/reading?file=data%2Fa+b.csv"
    assert "no headings" in group.help


def test_answers_are_written_where_they_belong(tmp_path: Path) -> None:
    (tmp_path / "study.toml").write_text('format = 1\nanalyte = "?"  # what\n', "utf-8")
    (tmp_path / "runs.csv").write_text("file,electrode,technique\ndata/a.csv,?,deposition\n", "utf-8")
    answer(
        tmp_path,
        [{"key": "analyte", "value": "nitrite"}, {"row": 2, "column": "electrode", "value": "Ni-1"}],
    )
    assert (tmp_path / "study.toml").read_text("utf-8") == 'format = 1\nanalyte = "nitrite"  # what\n'
    assert "data/a.csv,Ni-1,deposition" in (tmp_path / "runs.csv").read_text("utf-8")
