"""A prefix that slipped is a warning: the values are outside what is ever measured."""

from __future__ import annotations

from pathlib import Path

import pytest

from halfcell.study.load import check


@pytest.mark.parametrize(
    ("file", "right", "wrong", "place"),
    [
        ("runs.csv", "50 mV/s", "50 MV/s", "column scan_rate"),
        ("runs.csv", "1 mmol/L", "1 kmol/L", "column concentration"),
        ("study.toml", 'area = "0.0707 cm^2"', 'area = "0.0707 km^2"', "electrodes.Ni-1.area"),
    ],
)
def test_a_slipped_prefix(study: Path, file: str, right: str, wrong: str, place: str) -> None:
    path = study / file
    text = path.read_text("utf-8")
    assert right in text
    path.write_text(text.replace(right, wrong, 1), "utf-8")
    found = [p for p in check(study) if "is the unit right" in p.what]
    assert len(found) == 1
    assert found[0].severity == "warning"
    assert place in found[0].place


def test_a_temperature_in_the_wrong_unit(study: Path) -> None:
    path = study / "study.toml"
    path.write_text(path.read_text("utf-8").replace("[", 'temperature = "25 K"\n\n[', 1), "utf-8")
    found = [p for p in check(study) if "is the unit right" in p.what]
    assert len(found) == 1
    assert "temperature" in found[0].place


def test_the_right_study_has_no_such_warning(study: Path) -> None:
    assert not [p for p in check(study) if "is the unit right" in p.what]


@pytest.mark.parametrize(
    ("line", "what", "example"),
    [
        ('title = "open', "not closed", 'title = "open"'),
        ('title = "C:\\users"', "backslash", 'title = "C:/users"'),
        ("title = „Nickel“", "stand in quotes", 'title = "Nickel"'),
    ],
)
def test_slips_of_quotes_come_with_the_right_line(study: Path, line: str, what: str, example: str) -> None:
    path = study / "study.toml"
    lines = [row for row in path.read_text("utf-8").splitlines() if not row.startswith("title")]
    path.write_text("\n".join([line, *lines]) + "\n", "utf-8")
    found = [p for p in check(study) if what in p.what]
    assert found
    assert found[0].example == example
