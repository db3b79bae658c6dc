from __future__ import annotations

import csv
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest

from halfcell.study.intake import intake
from halfcell.study.intake_order import by_numbers, by_stamps, stamp


@pytest.mark.parametrize(
    ("header", "when"),
    [
        ("Date: 2025-03-04 14:05:06", datetime(2025, 3, 4, 14, 5, 6)),
        ("Started\t2025/3/4\nTime\t2:05:06 PM", datetime(2025, 3, 4, 14, 5, 6)),
        ("taken on 14.03.2025, 09:30", datetime(2025, 3, 14, 9, 30)),
        ("03/14/2025 12:01:00 AM", datetime(2025, 3, 14, 0, 1)),
        ("Mar. 4, 2025   14:05:06.250", datetime(2025, 3, 4, 14, 5, 6, 250_000)),
        ("4-Mar-2025 14:05", datetime(2025, 3, 4, 14, 5)),
        ("14:05:06 on 2025-03-04", datetime(2025, 3, 4, 14, 5, 6)),
    ],
)
def test_times_as_headers_write_them(header: str, when: datetime) -> None:
    found = stamp(header)
    assert found is not None
    assert when in {found.day_first, found.month_first}


@pytest.mark.parametrize("header", ["", "Range 0.1 to 1.5", "2025-03-04", "ratio 10:20", "2025-13-44 10:00"])
def test_what_is_no_time_is_none(header: str) -> None:
    assert stamp(header) is None


def test_places_follow_the_times_only_where_every_record_has_its_own() -> None:
    assert by_stamps(["2025-03-04 14:00", "2025-03-04 13:59:59", "2025-03-03 20:00"]) == (3, 2, 1)
    assert by_stamps(["2025-03-04 14:00", "no time"]) == ()
    assert by_stamps(["2025-03-04 14:00", "2025-03-04 14:00"]) == ()


def test_day_and_month_that_could_be_exchanged_decide_nothing() -> None:
    # 3 April before 2 May, or 4 March after 5 February.
    assert by_stamps(["03/04/2025 10:00", "02/05/2025 10:00"]) == ()
    # Only one of the ways is a date.
    assert by_stamps(["25/04/2025 10:00", "02/05/2025 10:00"]) == (1, 2)
    # Both ways give the same order.
    assert by_stamps(["03/04/2025 10:00", "03/04/2025 11:00"]) == (1, 2)


def test_numbers_of_the_names() -> None:
    assert by_numbers(["run3", "run10", "run1"]) == (3, 10, 1)
    assert by_numbers(["run3", ""]) == ()
    assert by_numbers(["run3", "scan3"]) == ()


def test_the_order_is_guessed_and_marked(tmp_path: Path, sweep: Callable[..., str]) -> None:
    loose = tmp_path / "loose"
    loose.mkdir()
    for minute, name in ((30, "blank"), (10, "1mM"), (20, "2mM")):
        text = f"Record\nDate: 2025-03-04 09:{minute}:00\n" + sweep()
        (loose / f"Ni-1_cv_{name}.csv").write_text(text, "utf-8")
    for number in (2, 1):
        (loose / f"Cu-1_cv_run{number}.csv").write_text(sweep(), "utf-8")
        (loose / f"Au-{number}_cv_run1.csv").write_text(sweep(), "utf-8")
    intake(loose, tmp_path / "study")
    with (tmp_path / "study" / "runs.csv").open(encoding="utf-8", newline="") as source:
        rows = {r["file"].partition("/")[2]: r for r in csv.DictReader(source)}
    ni = [rows[f"Ni-1_cv_{name}.csv"] for name in ("1mM", "2mM", "blank")]
    assert [r["order"] for r in ni] == ["1", "2", "3"]
    assert all("order from the time in the header" in r["guessed"] for r in ni)
    assert [rows[f"Cu-1_cv_run{n}.csv"]["order"] for n in (1, 2)] == ["1", "2"]
    assert "order from the number in the name" in rows["Cu-1_cv_run1.csv"]["guessed"]
    # One record alone has no order.
    assert rows["Au-1_cv_run1.csv"]["order"] == ""
