"""What a person says about a file goes before what is guessed; a wrong word is answered with a right one."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from halfcell.errors import ReadError
from halfcell.readers import read
from halfcell.study.model import ReaderSettings
from readers import messy

TRUTH = messy.truth()


def hints(**words: Any) -> dict[str, Any]:
    """As a study gives them."""
    return ReaderSettings(**words).model_dump()


def bare(path: Path) -> Path:
    """Two columns in nA and mV under no headings: only a person can tell."""
    path.write_text(messy.table([(TRUTH.current * 1e9, ".3f"), (TRUTH.potential * 1e3, ".2f")], " "), "utf-8")
    return path


def test_columns_and_units_of_a_table_without_headings(tmp_path: Path) -> None:
    path = bare(tmp_path / "bare.dat")
    with pytest.raises(ReadError, match=r"\[readers\.bare\]"):
        read(path)
    said = hints(columns={"potential": 2, "current": 1}, units={"potential": "mV", "current": "nA"})
    recording = read(path, hints=said)
    np.testing.assert_allclose(recording.current, TRUTH.current, atol=1e-12)
    np.testing.assert_allclose(recording.potential, TRUTH.potential, atol=1e-5)
    assert recording.time is None


def test_a_number_names_one_column_where_headings_repeat(tmp_path: Path) -> None:
    path = tmp_path / "pairs.csv"
    columns = [(TRUTH.potential, ".5f"), (TRUTH.current, ".6e")] * 2
    path.write_text("E/V,I/A,E/V,I/A\n" + messy.table(columns), "utf-8")
    for second in (4, "4"):
        recording = read(path, hints={"columns": {"potential": 3, "current": second}})
        assert len(recording.current) == len(TRUTH.current)
        assert recording.cycle is None


def test_empty_settings_change_nothing(tmp_path: Path) -> None:
    path = tmp_path / "plain.csv"
    path.write_bytes(messy.STYLES[0].write(TRUTH))
    np.testing.assert_array_equal(read(path).current, read(path, hints=hints()).current)


def test_a_column_by_its_heading_goes_before_the_guess(tmp_path: Path) -> None:
    path = tmp_path / "two.csv"
    columns = [(TRUTH.potential, ".5f"), (TRUTH.current, ".6e"), (TRUTH.current * 2, ".6e")]
    path.write_text("E/V,I raw/A,I smoothed/A\n" + messy.table(columns), "utf-8")
    plain, chosen = read(path), read(path, hints=hints(columns={"current": "I smoothed/A"}))
    np.testing.assert_allclose(plain.current, TRUTH.current, rtol=1e-6)
    np.testing.assert_allclose(chosen.current, 2 * TRUTH.current, rtol=1e-6)
    assert any("I smoothed/A" in said for said in plain.assumed)


def test_a_unit_goes_before_the_heading(tmp_path: Path) -> None:
    path = tmp_path / "wrong.csv"
    path.write_text("E/V,I/A\n" + messy.table([(TRUTH.potential, ".5f"), (TRUTH.current, ".6e")]), "utf-8")
    np.testing.assert_allclose(
        read(path, hints=hints(units={"current": "mA"})).current, TRUTH.current * 1e-3, rtol=1e-6
    )


def test_skip_passes_over_numbers_that_are_no_rows(tmp_path: Path) -> None:
    path = tmp_path / "skip.csv"
    rows = messy.table([(TRUTH.potential, ".5f"), (TRUTH.current, ".6e")])
    path.write_text("E/V,I/A\n99,98\n97,96\n95,94\n" + rows, "utf-8")
    assert len(read(path).current) == len(TRUTH.current) + 3
    recording = read(path, hints=hints(skip=4))
    assert recording.first_row == 5
    np.testing.assert_allclose(recording.current, TRUTH.current, rtol=1e-6)


def test_delimiter_and_decimal_mark_can_be_said(tmp_path: Path) -> None:
    path = tmp_path / "marks.txt"
    path.write_text(
        "E/V;I/A\n" + messy.table([(TRUTH.potential, ".5f"), (TRUTH.current, ".6e")], ";", ","), "utf-8"
    )
    recording = read(path, hints=hints(delimiter=";", decimal=","))
    np.testing.assert_allclose(recording.current, TRUTH.current, rtol=1e-6)
    with pytest.raises(ReadError, match="no table of numbers"):
        read(path, hints=hints(delimiter=";", decimal="."))


@pytest.mark.parametrize(
    ("words", "answer"),
    [
        ({"delimiter": "!"}, "tab"),
        ({"decimal": ";"}, "decimal"),
        ({"delimiter": ",", "decimal": ","}, "at once"),
        ({"columns": {"voltage": 1}}, "the roles are time, potential"),
        ({"columns": {"current": 7}}, "columns 1 to 2"),
        ({"columns": {"current": "strom"}}, "its headings are"),
        ({"units": {"current": "mV"}}, 'current = "A"'),
        ({"units": {"current": "furlong"}}, 'current = "A"'),
        ({"encoding": "latin-99"}, "latin-1"),
        ({"skip": 10_000}, "no table of numbers"),
        ({"reader": "nobody"}, "there is no reader"),
        ({"skip": -1}, "skip = 12"),
    ],
)
def test_a_wrong_word_is_answered(words: dict[str, Any], answer: str, tmp_path: Path) -> None:
    path = tmp_path / "plain.csv"
    path.write_bytes(messy.STYLES[0].write(TRUTH))
    with pytest.raises(ReadError) as caught:
        read(path, name="data/plain.csv", hints=words)
    assert answer in str(caught.value)
    assert str(caught.value).startswith("data/plain.csv")
