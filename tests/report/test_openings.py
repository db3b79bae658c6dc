"""Sentences of a report begin with a capital, and what must stay small stays small."""

from __future__ import annotations

import pytest

from halfcell.choice.wording import opened
from halfcell.report.blocks import Part, Section, Table, Text
from halfcell.report.openings import with_openings


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("nickel: calibration", "Nickel: calibration"),
        ("copper", "Copper"),
        ("no step is seen.", "No step is seen."),
        ("", ""),
        ("pH 7 was stated.", "pH 7 was stated."),
        ("p = 0.04", "p = 0.04"),
        ("i_p against v", "i_p against v"),
        ("halfcell computes", "halfcell computes"),
        ("ni-1: sizes", "ni-1: sizes"),
        ("data.csv: problem", "data.csv: problem"),
    ],
)
def test_first_words(text: str, expected: str) -> None:
    assert opened(text) == expected


def test_cells_and_code_are_left_alone() -> None:
    table = Table(title="groups", head=("group",), rows=(("nickel",),), note="each by itself")
    code = Text(text="format = 1", tone="code")
    part = Part(place="Made", question="?", sections=(Section(title="sizes", blocks=(table, code)),))
    section = with_openings(part).sections[0]
    assert section.title == "Sizes"
    assert section.blocks[0].title == "Groups"
    assert section.blocks[0].note == "Each by itself"
    assert section.blocks[0].rows == (("nickel",),)
    assert section.blocks[1] == code
