"""Numbers written for people: read where they have one meaning, said, and never changed silently."""

from __future__ import annotations

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
