"""Numbers written for people: read where they have one meaning, said, and never changed silently."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from halfcell.errors import ReadError
from halfcell.readers import read
from halfcell.recording import Recording
from readers import messy

TRUTH = messy.truth(cycles=1)
E_MV, I_PA = TRUTH.potential * 1e3, TRUTH.current * 1e12


def given(tmp_path: Path, head: str, rows: list[str], **hints: object) -> Recording:
    """What is read from a file of a heading and rows."""
    path = tmp_path / "people.txt"
    path.write_text(head + "\n" + "\n".join(rows) + "\n", "utf-8")
    return read(path, hints=hints)


def german(value: float) -> str:
    return f"{value:,.3f}".translate(str.maketrans(",.", ".,"))


THOUSANDS = {
    "quoted": (",", lambda v: f'"{v:,.3f}"'),
    "tab": ("\t", lambda v: f"{v:,.3f}"),
    "point and comma": (";", german),
    "space": (";", lambda v: f"{v:,.3f}".replace(",", " ")),
    "hard space": (";", lambda v: f"{v:,.3f}".replace(",", "\u00a0")),
    "apostrophe": ("\t", lambda v: f"{v:,.3f}".replace(",", "'")),
}


@pytest.mark.parametrize("way", THOUSANDS)
def test_marks_between_thousands(way: str, tmp_path: Path) -> None:
    mark, written = THOUSANDS[way]
    rows = [f"{german(e) if way.startswith('point') else f'{e:.3f}'}{mark}{written(i)}" for e, i in zip(E_MV, I_PA, strict=True)]  # fmt: skip
    recording = given(tmp_path, f"E/mV{mark}i/pA", rows)
    np.testing.assert_allclose(recording.current, TRUTH.current, atol=1e-14)
    np.testing.assert_allclose(recording.potential, TRUTH.potential, atol=1e-6)
    assert any("between thousands" in said for said in recording.assumed)


def test_groups_that_may_be_decimals_are_not_changed(tmp_path: Path) -> None:
    rows = [f'{e:.5f},"{i / 1e3:,.0f},{int(i) % 1000:03d}"' for e, i in zip(TRUTH.potential, I_PA, strict=True) if abs(i) < 9e5]  # fmt: skip
    with pytest.raises(ReadError):
        given(tmp_path, "E/V,i/pA", rows)


def test_a_decimal_comma_within_quotes(tmp_path: Path) -> None:
    rows = [f'"{e:.5f}","{i * 1e6:.6f}"'.replace(".", ",") for e, i in zip(TRUTH.potential, TRUTH.current, strict=True)]  # fmt: skip
    recording = given(tmp_path, '"E/V","i/uA"', rows)
    np.testing.assert_allclose(recording.current, TRUTH.current, atol=1e-12)


def test_the_comma_in_both_offices_is_refused_with_the_keys_that_help(tmp_path: Path) -> None:
    rows = [f"{e:.5f},{i * 1e6:.6f}".replace(".", ",") for e, i in zip(TRUTH.potential, TRUTH.current, strict=True)]  # fmt: skip
    with pytest.raises(ReadError, match=r'delimiter = ","\ndecimal = ","'):
        given(tmp_path, "E/V,i/uA", rows)
    recording = given(tmp_path, "E/V,i/uA", rows, delimiter=",", decimal=",")
    np.testing.assert_allclose(recording.current, TRUTH.current, atol=1e-12)
    np.testing.assert_allclose(recording.potential, TRUTH.potential, atol=1e-5)


def clock(seconds: float) -> str:
    return f"{int(seconds // 3600) % 24:02d}:{int(seconds // 60) % 60:02d}:{seconds % 60:05.2f}"


@pytest.mark.parametrize(
    ("day", "mark"),
    [("", ","), ("", "\t"), ("2031-02-03 ", ","), ("2031-02-03T", ";"), ("03.02.2031 ", ";")],
)
def test_times_of_day_become_seconds(day: str, mark: str, tmp_path: Path) -> None:
    rows = [f"{day}{clock(t + 3_600)}{mark}{i:.6e}" for t, i in zip(TRUTH.time, TRUTH.current, strict=True)]
    recording = given(tmp_path, f"Time{mark}i/A", rows)
    assert recording.time is not None
    np.testing.assert_allclose(recording.time, TRUTH.time, atol=0.011)
    assert any("seconds since the first" in said for said in recording.assumed)


def test_a_clock_goes_on_over_midnight(tmp_path: Path) -> None:
    rows = [f"{clock(t + 86_390)},{i:.6e}" for t, i in zip(TRUTH.time, TRUTH.current, strict=True)]
    recording = given(tmp_path, "Time,i/A", rows)
    assert recording.time is not None
    np.testing.assert_allclose(recording.time, TRUTH.time, atol=0.011)


def test_a_clock_coarser_than_the_rows_is_not_used(tmp_path: Path) -> None:
    rows = [f"{clock(t)[:8]},{e:.5f},{i:.6e}" for t, e, i in zip(TRUTH.time, TRUTH.potential, TRUTH.current, strict=True)]  # fmt: skip
    recording = given(tmp_path, "Time,E/V,i/A", rows)
    assert recording.time is None
    assert any("coarser" in said for said in recording.assumed)


def test_an_exponent_written_with_a_d(tmp_path: Path) -> None:
    rows = [f"{e:.5f},{i:.6e}".replace("e", "D") for e, i in zip(TRUTH.potential, TRUTH.current, strict=True)]
    np.testing.assert_allclose(given(tmp_path, "E/V,i/A", rows).current, TRUTH.current, atol=1e-12)


def test_three_decimals_beside_bare_numbers_may_be_thousands(tmp_path: Path) -> None:
    rows = [f"{e:.5f};{f'{v / 1000:.3f}' if abs(v) > 999 else v}" for e, v in zip(TRUTH.potential, np.round(TRUTH.current * 1e9).astype(int), strict=True)]  # fmt: skip
    truth = np.round(TRUTH.current * 1e9) * 1e-9
    with pytest.raises(ReadError, match=r'decimal = ","'):
        given(tmp_path, "E/V;i/nA", rows)
    commas = [f"{row.split(';')[0].replace('.', ',')};{row.split(';')[1]}" for row in rows]
    grouped = given(tmp_path, "E/V;i/nA", commas, decimal=",")
    np.testing.assert_allclose(grouped.current, truth, atol=1e-12)
    plain = given(tmp_path, "E/V;i/nA", rows, decimal=".")
    assert np.abs(plain.current).max() < np.abs(truth).max()


def climbing(count: int = 200, top: float = 1200.0) -> np.ndarray:
    return np.linspace(5.0, top, count)


@pytest.mark.parametrize("order", ["clock first", "elapsed first"])
def test_two_clocks_in_a_row_are_counted_each_by_itself(order: str, tmp_path: Path) -> None:
    seconds = np.arange(1, 41)
    both = [(clock(s + 50_400)[:8], f"0:{s // 60:02d}:{s % 60:02d}") for s in seconds]
    names, cells = ["Clock", "Elapsed time"], both
    if order == "elapsed first":
        names, cells = names[::-1], [(b, a) for a, b in both]
    rows = [f"{a};{b};{1e-6 * s:.3e}" for (a, b), s in zip(cells, seconds, strict=True)]
    recording = given(tmp_path, f"{names[0]};{names[1]};I/uA", rows)
    assert recording.time is not None
    np.testing.assert_allclose(recording.time, seconds - 1.0)
    for values in recording.extra.values():
        np.testing.assert_allclose(np.diff(values), 1.0)


@pytest.mark.parametrize(
    "row",
    [
        lambda v: f"{v:.3f};{german(1000 * v + 0.5)}",  # two decimal marks in one row
        lambda v: f"{v:.3f};{2 * v:.3f}",  # points only, half of them above one
        lambda v: f"{v:.2f};{german(v)}",
    ],
)
def test_a_leading_zero_is_never_a_group_of_thousands(row: Callable[[float], str], tmp_path: Path) -> None:
    with pytest.raises(ReadError, match="decimal"):
        given(tmp_path, "E/V;i/uA", [row(v) for v in np.linspace(-0.5, 1.9, 60)], decimal=",")


def test_an_apostrophe_after_a_zero_is_no_mark_between_thousands(tmp_path: Path) -> None:
    with pytest.raises(ReadError):
        given(tmp_path, "t/s;i/uA", [f"{k};0'0{k:02d}" for k in range(10, 70)])


@pytest.mark.parametrize("mark", ["\t", ";"])
@pytest.mark.parametrize("lead", [0, 900])
def test_thousands_far_below_the_first_rows_are_read(mark: str, lead: int, tmp_path: Path) -> None:
    current = np.concatenate([np.full(lead, 7.5), climbing()])
    rows = [f"{-0.5 + 0.001 * k:.3f}{mark}{i:,.1f}" for k, i in enumerate(current)]
    recording = given(tmp_path, f"E/V{mark}i/nA", rows)
    np.testing.assert_allclose(recording.current * 1e9, np.round(current, 1))
    assert any("between thousands" in said for said in recording.assumed)


@pytest.mark.parametrize("place", ["at the end", "amidst"])
def test_thousands_below_the_first_64_kilobytes_are_read(place: str, tmp_path: Path) -> None:
    low = np.full(8000, 7.5)
    current = np.concatenate([low, climbing(), low if place == "amidst" else []])
    rows = [f"{-0.5 + 0.001 * k:.3f};{i:,.1f}" for k, i in enumerate(current)]
    assert sum(map(len, rows[:8000])) > 1 << 16
    recording = given(tmp_path, "E/V;i/nA", rows)
    np.testing.assert_allclose(recording.current * 1e9, np.round(current, 1))
    assert [said for said in recording.assumed if "between thousands" in said]


def test_a_mark_in_a_remark_below_the_table_changes_nothing(tmp_path: Path) -> None:
    rows = [f"{k};{0.5 * k:.2f}" for k in range(8000)]
    recording = given(tmp_path, "t/s;i/nA", [*rows, "resistance;1,234.5;ohm"])
    np.testing.assert_allclose(recording.current * 1e9, 0.5 * np.arange(8000))
    assert [said for said in recording.assumed if "1,234.5" in said]


def test_words_to_the_end_of_the_table_are_told(tmp_path: Path) -> None:
    rows = [f"{k};{0.5 * k:.2f}" for k in range(6000)] + [f"{k};overload" for k in range(6000, 9000)]
    recording = given(tmp_path, "t/s;i/nA", rows)
    assert len(recording.current) == 6000
    assert (
        "3000 rows with an empty cell or one that holds no number ('overload') were left out"
        in recording.assumed
    )


def test_a_peak_above_a_thousand_is_not_cut_off(tmp_path: Path) -> None:
    current = 100.0 + 1500.0 * np.exp(-((np.linspace(-4, 4, 300)) ** 2))
    rows = [f"{-0.5 + 0.002 * k:.3f};{i:,.2f}" for k, i in enumerate(current)]
    recording = given(tmp_path, "E/V;i/nA", rows)
    assert len(recording.current) == 300
    assert recording.current.max() == pytest.approx(np.round(current.max(), 2) * 1e-9)


@pytest.mark.parametrize("hints", [{}, {"decimal": "."}])
def test_a_space_between_columns_is_none_between_thousands(hints: dict[str, str], tmp_path: Path) -> None:
    rows = [f"{t} {95 + t / 2:.1f}" for t in range(1, 60)]
    recording = given(tmp_path, "t/s i/uA", rows, **hints)
    assert recording.time is not None
    np.testing.assert_allclose(recording.time, np.arange(1, 60))
    assert not recording.assumed


def test_a_time_that_was_no_clock_keeps_its_start(tmp_path: Path) -> None:
    seconds = np.arange(60, 100)
    rows = [f"{clock(s)[:8]};{s:.1f};{s * 1e-3:.4f}" for s in seconds]
    recording = given(tmp_path, "Clock;t/s;I/uA", rows, columns={"time": "t/s", "current": "I/uA"})
    assert recording.time is not None
    np.testing.assert_allclose(recording.time, seconds)


@pytest.mark.parametrize("hints", [{}, {"decimal": "."}])
def test_times_in_the_header_change_nothing(hints: dict[str, str], tmp_path: Path) -> None:
    rows = [f"{s:.1f};{s * 1e-3:.4f}" for s in range(60, 100)]
    head = "Start;14:00:00\nEnd;15:00:00\nSaved;16:00:00\nt/s;I/uA"
    recording = given(tmp_path, head, rows, **hints)
    assert recording.time is not None
    np.testing.assert_allclose(recording.time, np.arange(60, 100))
    assert not any("times of day" in said for said in recording.assumed)
    assert "14:00:00" in recording.header


@pytest.mark.parametrize("mark", [" ", "\t", ";"])
@pytest.mark.parametrize("half", [" PM", " p.m.", "\tPM"])
def test_a_clock_of_twelve_hours_is_not_read_as_one_of_twenty_four(
    mark: str, half: str, tmp_path: Path
) -> None:
    at = [f"12:59:{s:02d}" for s in range(30, 60)] + [f"1:00:{s:02d}" for s in range(30)]
    rows = [f"{a}{half}{mark}{k * 1e-3:.4f}" for k, a in enumerate(at)]
    for head in (f"Time{mark}I/uA", f"Time{mark}half{mark}I/uA"):
        with pytest.raises(ReadError):
            given(tmp_path, head, rows)


def test_an_empty_column_stays_where_it_is(tmp_path: Path) -> None:
    rows = [f"{0.001 * k:.3f}\t\t{i:,.1f}" for k, i in enumerate(climbing())]
    recording = given(tmp_path, "E/V\tmark\ti/nA", rows)
    np.testing.assert_allclose(recording.current * 1e9, np.round(climbing(), 1))


def test_quoted_numbers_with_points_between_thousands(tmp_path: Path) -> None:
    rows = [f'"{german(e)}"\t"{german(i)}"' for e, i in zip(E_MV, I_PA, strict=True)]
    for hints in ({}, {"decimal": ","}):
        recording = given(tmp_path, '"E/mV"\t"i/pA"', rows, **hints)
        np.testing.assert_allclose(recording.current, TRUTH.current, atol=1e-14)
        np.testing.assert_allclose(recording.potential, TRUTH.potential, atol=1e-6)
