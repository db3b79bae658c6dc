from __future__ import annotations

import pytest

from halfcell.report.blocks import Table
from halfcell.report.cells import aligned


def table(*cells: str) -> Table:
    return Table(title="", head=("a",), rows=tuple((c,) for c in cells))


def test_numbers_are_taken_apart_at_the_point_and_at_the_uncertainty():
    done = aligned(table("12.35 ± 0.40", "−9 ± 11", "–", "0.1"))
    assert done.columns[0].number
    assert (done.columns[0].whole, done.columns[0].part, done.columns[0].u_whole, done.columns[0].u_part) == (
        2,
        3,
        2,
        3,
    )
    cell = done.rows[0][0]
    assert (cell.whole, cell.part, cell.u_whole, cell.u_part) == ("12", ".35", "0", ".40")
    assert not done.rows[2][0].number


@pytest.mark.parametrize(
    "words", [("Ni-1", "12"), ("", "–"), ("2026-05-04", "1"), ("535 … 555", "1 … 2"), ("1 to 2 µA", "3")]
)
def test_a_column_with_a_word_in_it_is_one_of_words(words):
    assert not aligned(table(*words)).columns[0].number


def test_units_and_powers_stay_with_their_number():
    done = aligned(table("1.20×10⁻⁵ ± 0.10×10⁻⁵ M", "3 µA"))
    assert done.columns[0].number
    assert done.rows[0][0].part == ".20×10⁻⁵"
    assert done.rows[0][0].tail == " M"
    assert "".join((done.rows[1][0].whole, done.rows[1][0].part, done.rows[1][0].tail)) == "3 µA"


def test_short_rows_are_filled():
    assert aligned(Table(title="", head=("a", "b"), rows=(("1",),))).rows[0][1].text == ""


def test_how_many_there_are_may_follow_the_unit():
    done = aligned(table("0.02 ± 0.01 µA (n = 3)", "3.62 ± 0.13 µA cm⁻² (n = 12)"))
    assert done.columns[0].number
    assert done.rows[1][0].tail == " µA cm⁻² (n = 12)"
