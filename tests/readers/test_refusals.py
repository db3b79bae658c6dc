"""What cannot be decided is refused with the lines in question and the exact keys to add."""

from __future__ import annotations

import pickle
import tomllib
from fnmatch import fnmatchcase
from pathlib import Path

import numpy as np
import pytest

from halfcell.errors import ReadError
from halfcell.readers import read
from halfcell.readers.refusal import example
from halfcell.study.model import ReaderSettings
from readers import messy

TRUTH = messy.truth()
E, SCI = ".5f", ".6e"


def refused(path: Path, content: bytes | str) -> ReadError:
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    with pytest.raises(ReadError) as caught:
        read(path, name=f"data/{path.name}")
    return caught.value


def test_the_keys_shown_are_valid_and_lead_to_a_reading(tmp_path: Path) -> None:
    path = tmp_path / "Ni 1, run(2).csv"
    rows = messy.table([(TRUTH.potential, E), (TRUTH.current * 1e6, ".5f")])
    error = refused(path, "E / V,I\n" + rows)
    assert "gives no unit" in str(error)
    assert "     1  E / V,I" in str(error)
    (table,) = tomllib.loads(error.problems[0].example)["readers"].values()
    assert table["files"] == path.name
    settings = ReaderSettings.model_validate(table).model_dump()
    np.testing.assert_allclose(read(path, hints=settings).current, TRUTH.current, atol=1e-11)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "empty"),
        (b"   \n\n", "empty"),
        (b"PK\x03\x04rest", "spreadsheet"),
        (b"%PDF-1.7 rest", "PDF"),
        (b"\x89PNG\r\n\x1a\n", "micrograph"),
        (b"\x01\x02\x00\x03binary\x00\x00" * 50, "not a text export"),
        ("Dear reader,\nno numbers here.\n", "no table of numbers"),
        ("E/V,I/A\n1,2\n", "no table of numbers"),
        ("E/V;I/A\n0,1;1\n0,2\n", "no table of numbers"),
    ],
    ids=["nothing", "blank", "spreadsheet", "document", "picture", "binary", "prose", "one row", "two rows"],
)
def test_what_is_no_export(content: bytes | str, says: str, tmp_path: Path) -> None:
    assert says in str(refused(tmp_path / "file.txt", content))


def test_comma_for_both_marks_is_seen(tmp_path: Path) -> None:
    rows = messy.table([(TRUTH.potential + 1, E), (TRUTH.current * 1e6 + 2, E)], ",", ",")
    said = str(refused(tmp_path / "commas.csv", "E/V,I/uA\n" + rows))
    assert "name 2 columns, but the rows of numbers have 4" in said
    assert "decimal comma" in said


@pytest.mark.parametrize("scale", [1e6, 1e3, 1e9])
def test_a_current_of_unknown_unit_is_not_guessed(scale: float, tmp_path: Path) -> None:
    rows = messy.table([(TRUTH.potential, E), (TRUTH.current * scale * 10, ".8f")])
    if scale == 1e3:
        rows = messy.table([(TRUTH.potential, E), (TRUTH.current * scale * 1e3, ".8f")])
    assert "gives no unit" in str(refused(tmp_path / "unit.csv", "E,I\n" + rows))


def test_two_columns_that_may_be_swept_potential_or_time_are_not_guessed(tmp_path: Path) -> None:
    rows = messy.table([(np.linspace(0.1, 1.1, 80), E), (np.linspace(1e-6, 3e-6, 80) ** 2 * 1e5, SCI)])
    assert "cannot be told" in str(refused(tmp_path / "rise.csv", rows))


def test_an_unknown_unit_is_not_passed_over(tmp_path: Path) -> None:
    rows = messy.table([(TRUTH.potential, E), (TRUTH.current, SCI)])
    assert "cannot be told" in str(refused(tmp_path / "odd.csv", "E / V,Power (W)\n" + rows))


def test_the_error_survives_the_way_from_another_process(tmp_path: Path) -> None:
    error = refused(tmp_path / "prose.txt", "no numbers here\n")
    again = pickle.loads(pickle.dumps(error))
    assert (str(again), again.problems) == (str(error), error.problems)


def test_a_missing_file_and_a_folder(tmp_path: Path) -> None:
    for path in (tmp_path / "absent.csv", tmp_path):
        with pytest.raises(ReadError, match=r"no such file|cannot be opened"):
            read(path)


@pytest.mark.parametrize(
    "heading",
    ["i(A)*1e6", "i/1e-6 A", "I / E-6 A", "I (10⁻⁶ A)", "I/A x 10^6", "I (x10-3 A)", "I/10 mA", "I / 100 uA"],
)
def test_a_power_of_ten_in_a_heading_is_asked_about(heading: str, tmp_path: Path) -> None:
    path = tmp_path / "factor.csv"
    path.write_text(f"E/V;{heading}\n" + "".join(f"{k / 100};{k}\n" for k in range(40)), "utf-8")
    with pytest.raises(ReadError, match=r'holds a factor(.|\n)*units = \{ current = "uA" \}'):
        read(path)
    np.testing.assert_allclose(read(path, hints={"units": {"current": "uA"}}).current[3], 3e-6)


def test_the_unit_asked_for_is_taken_where_there_are_no_headings(tmp_path: Path) -> None:
    path = tmp_path / "bare.csv"
    sweep = [*range(-30, 30), *range(30, -30, -1)]
    path.write_text(
        "".join(f"{e / 100},{e**3 / 1000 + 0.013 * (k % 7)}\n" for k, e in enumerate(sweep)), "utf-8"
    )
    with pytest.raises(ReadError, match=r'units = \{ current = "uA" \}'):
        read(path)
    np.testing.assert_allclose(read(path, hints={"units": {"current": "uA"}}).current[0], -27e-6)


@pytest.mark.parametrize("heads", [("Channel 1 / uA", "Channel 2 / uA"), ("Ni-1 (uA)", "Ni-2 (uA)")])
def test_currents_of_several_electrodes_are_no_cycles(heads: tuple[str, str], tmp_path: Path) -> None:
    path = tmp_path / "channels.csv"
    path.write_text(
        f"E/V,{','.join(heads)}\n" + "".join(f"{k / 100},{k},{2 * k}\n" for k in range(40)), "utf-8"
    )
    with pytest.raises(ReadError, match=r"columns = \{ current = 2 \}"):
        read(path)
    for named in (3, heads[1]):
        recording = read(path, hints={"columns": {"current": named}})
        np.testing.assert_allclose(recording.current[3], 6e-6)
        assert recording.cycle is None


@pytest.mark.parametrize("name", ["a [1].csv", "b*?.csv", 'c "x".csv', "d \\e.csv"])
def test_the_pattern_shown_is_of_this_very_file(name: str) -> None:
    (table,) = tomllib.loads(example(name, {"skip": "3"}))["readers"].values()
    assert fnmatchcase(name.rpartition("\\")[2], table["files"])


@pytest.mark.parametrize("heading", ["|i|/uA", "ln i", "log(i/A)", "lg I"])
def test_a_size_or_a_logarithm_is_no_current(heading: str, tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    sweep = [*range(-30, 30), *range(30, -30, -1)]
    path.write_text(f"E/V;{heading}\n" + "".join(f"{e / 100};{abs(e) / 7:.4f}\n" for e in sweep), "utf-8")
    with pytest.raises(ReadError, match="cannot be told"):
        read(path)


def test_a_minus_before_a_heading_is_said(tmp_path: Path) -> None:
    path = tmp_path / "minus.csv"
    path.write_text("E/V;-i/uA\n" + "".join(f"{k / 100};{k}\n" for k in range(40)), "utf-8")
    assert any("begins with a minus" in said for said in read(path).assumed)
