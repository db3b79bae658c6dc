"""A preview shows how a file would be read and never fails."""

from __future__ import annotations

from pathlib import Path

import pytest

from halfcell.cache import decode, encode
from halfcell.readers import preview
from readers import messy

TRUTH = messy.truth()


def test_what_a_preview_tells(tmp_path: Path) -> None:
    path = tmp_path / "export.csv"
    head = "invented\r\nIndex;Time (s);Potential (mV);Strom / µA\r\n"
    numbers = [
        (TRUTH.cycle, ".0f"),
        (TRUTH.time, ".4f"),
        (TRUTH.potential * 1e3, ".2f"),
        (TRUTH.current * 1e6, ".5f"),
    ]
    path.write_bytes((head + messy.table(numbers, ";", ",", "\r\n")).encode("latin-1"))
    shown = preview(path, name="data/export.csv")
    assert shown.problem == ""
    assert (shown.delimiter, shown.decimal, shown.encoding, shown.first_row) == (";", ",", "cp1252", 3)
    assert [(c.number, c.heading, c.unit, c.role) for c in shown.columns] == [
        (1, "Index", "", ""),
        (2, "Time (s)", "s", "time"),
        (3, "Potential (mV)", "mV", "potential"),
        (4, "Strom / uA", "uA", "current"),
    ]
    assert shown.lines[0] == (1, "invented")
    assert shown.lines[2][0] == 3
    assert shown.rows[0][2] == "-200,00"
    assert (shown.samples, shown.cycles) == (len(TRUTH.time), 0)


def test_units_and_roles_that_were_assumed_are_shown(tmp_path: Path) -> None:
    path = tmp_path / "bare.txt"
    path.write_text(
        messy.table([(TRUTH.time, ".4f"), (TRUTH.potential, ".5f"), (TRUTH.current, ".6e")], "\t"), "utf-8"
    )
    shown = preview(path)
    assert [(c.role, c.unit) for c in shown.columns] == [("time", "s"), ("potential", "V"), ("current", "A")]
    assert len(shown.assumed) == 4


def test_a_problem_comes_with_the_keys_and_what_is_known(tmp_path: Path) -> None:
    path = tmp_path / "unit.csv"
    path.write_text(
        "E/V,I\n" + messy.table([(TRUTH.potential, ".5f"), (TRUTH.current * 1e6, ".5f")]), "utf-8"
    )
    shown = preview(path)
    assert "gives no unit" in shown.problem
    assert "[readers.unit]" in shown.example
    assert [c.role for c in shown.columns] == ["potential", "current"]
    assert preview(path, {"units": {"current": "uA"}}).problem == ""


@pytest.mark.parametrize("content", [b"", b"\x00\x01\x02", b"prose only\n", b"PK\x03\x04"])
def test_whatever_the_file_it_is_a_preview(content: bytes, tmp_path: Path) -> None:
    path = tmp_path / "x.txt"
    path.write_bytes(content)
    shown = preview(path)
    assert shown.problem
    assert decode(encode(shown)) == shown


def test_a_wrong_hint_is_a_problem(tmp_path: Path) -> None:
    path = tmp_path / "x.csv"
    path.write_bytes(messy.STYLES[0].write(TRUTH))
    assert "reads columns 1 to 2" in preview(path, {"columns": {"current": 9}}).problem.replace(
        "the table has", "reads"
    )
    assert preview(tmp_path / "absent.csv").problem
