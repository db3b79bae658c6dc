from __future__ import annotations

import csv
import io
import json
import math

import pytest

from halfcell.finding import COLUMNS, Finding, Findings

KEYS_OF_THE_FORMAT = {
    "name", "value", "standard_uncertainty", "unit", "degrees_of_freedom", "electrode", "group", "recordings", "method",
    "source", "settings", "notes",
}  # fmt: skip
"""Format 1 of the findings; further keys may be added, none of these may go."""


def finding(**changes: object) -> Finding:
    base: dict[str, object] = {
        "name": "sensitivity", "value": 1.5, "standard_uncertainty": 0.1, "degrees_of_freedom": 6.0, "unit": "uA/(mmol/L)",
        "electrode": "Ni-1", "group": "nickel", "recordings": ("data/a.csv", "data/b.csv"), "method": "straight line",
        "source": "ISO 8466-1", "settings": {"weights": "none", "window": (0.1, 0.2)}, "notes": ("a; b",),
    }  # fmt: skip
    return Finding(**(base | changes))  # type: ignore[arg-type]


def test_json_is_the_written_format() -> None:
    said = json.loads(Findings((finding(), finding(value=math.nan, degrees_of_freedom=math.inf))).json())
    assert said["format"] == 1
    assert set(said) == {"format", "findings"}
    first, second = said["findings"]
    assert set(first) >= KEYS_OF_THE_FORMAT
    assert first["recordings"] == ["data/a.csv", "data/b.csv"]
    assert first["settings"] == {"weights": "none", "window": [0.1, 0.2]}
    assert second["value"] is None
    assert second["degrees_of_freedom"] is None


def test_numbers_survive_json_to_the_last_digit() -> None:
    value = 0.1 + 0.2
    assert json.loads(Findings((finding(value=value),)).json())["findings"][0]["value"] == value


def test_csv_reads_back() -> None:
    rows = list(csv.DictReader(io.StringIO(Findings((finding(source='a "quoted", source'),)).csv())))
    assert tuple(rows[0]) == COLUMNS
    assert rows[0]["source"] == 'a "quoted", source'
    assert rows[0]["recordings"] == "data/a.csv; data/b.csv"
    assert float(rows[0]["value"]) == 1.5


def test_the_table_never_changes_shape() -> None:
    empty, full = Findings(()).frame(), Findings((finding(),)).frame()
    assert list(empty.columns) == list(full.columns) == list(COLUMNS)
    assert len(empty) == 0
    assert Findings(()).csv().strip().split(",") == list(COLUMNS)


def test_choosing_rows() -> None:
    table = Findings(
        (finding(), finding(electrode="Cu-1"), finding(name="intercept")), {"Ni-1": {"material": "nickel"}}
    )
    assert len(table.named("sensitivity")) == 2
    assert [f.electrode for f in table.named("sensitivity", electrode="Cu-1")] == ["Cu-1"]
    assert table.names() == ("sensitivity", "intercept")
    longer = table.plus([finding(name="new")])
    assert (len(table), len(longer)) == (3, 4)
    assert longer.attributes == table.attributes


def test_key_and_measured() -> None:
    assert finding(condition="air").key == "sensitivity | Ni-1 | air"
    assert finding(electrode="").key == "sensitivity | nickel"
    assert finding(electrode="", group="").key == "sensitivity"
    measured = finding().measured()
    assert (measured.value, measured.u, measured.df, measured.why) == (1.5, 0.1, 6.0, "a; b")
    with pytest.raises(AttributeError):
        finding().value = 3.0  # type: ignore[misc]


def test_text_in_the_csv_is_no_formula_and_numbers_stay_numbers() -> None:
    rows = tuple(
        finding(electrode=electrode, condition=condition, value=-1.5)
        for electrode, condition in [
            ("=HYPERLINK(1)", "-0.25 V"),
            ("@x", "-1+cmd|'x'!A1"),
            ("+A1", "-1e-3"),
            ("\tx", "−0.2 V"),
            ("Ni-1", "- 5"),
        ]
    )
    back = list(csv.DictReader(io.StringIO(Findings(rows).csv())))
    assert [r["electrode"] for r in back] == ["'=HYPERLINK(1)", "'@x", "'+A1", "'\tx", "Ni-1"]
    assert [r["condition"] for r in back] == ["-0.25 V", "'-1+cmd|'x'!A1", "-1e-3", "−0.2 V", "'- 5"]
    assert {float(r["value"]) for r in back} == {-1.5}
    assert json.loads(Findings(rows).json())["findings"][0]["electrode"] == "=HYPERLINK(1)"
