"""An export that cannot be understood by itself: shown, corrected by pointing, kept for its siblings."""

from __future__ import annotations

import html
import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from starlette.testclient import TestClient

from app.test_pages import client_of
from halfcell.app.looking import pieces
from halfcell.study import open_study

STUDY = """\
# The data in this folder are invented.
format = 1
analyte = "nitrite"
reference_electrode = "Ag/AgCl, 3 M KCl"

[solutions.buffer]
description = "buffer"

[electrodes.Ni-1]
material = "nickel"
area = "0.0707 cm^2"
"""
FIRST = {"file": "data/run1.dat"}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "data").mkdir()
    sweep = np.concatenate([np.linspace(0, 900, 60), np.linspace(900, 0, 60)])
    rows = "\n".join(f"{e:.1f} {1.5 + 0.001 * e:.4f} {0.2 * np.sin(i):.4f}" for i, e in enumerate(sweep))
    for name in ("run1.dat", "run2.dat"):
        (tmp_path / "data" / name).write_text(rows + "\n", "utf-8")
    told = "\n".join(f"{e:.1f},{0.2 * np.sin(i):.4f}" for i, e in enumerate(sweep))
    (tmp_path / "data" / "told.csv").write_text("E/mV,i/uA\n" + told + "\n", "utf-8")
    (tmp_path / "study.toml").write_text(STUDY, "utf-8")
    names = ("run1.dat", "run2.dat", "told.csv")
    lines = [f"data/{n},Ni-1,cyclic voltammogram,buffer,50 mV/s" for n in names]
    (tmp_path / "runs.csv").write_text(
        "file,electrode,technique,solution,scan_rate\n" + "\n".join(lines) + "\n", "utf-8"
    )
    return tmp_path


def settled(client: TestClient) -> None:
    background = client.app.app.state.desk.background  # type: ignore[attr-defined]
    background.stop()
    background.wait(60)


def start_of(page: str) -> dict[str, Any]:
    """What the page gives its form to draw."""
    found = re.search(r'<reading-form data-start="([^"]*)"', page)
    assert found, page[page.find("<main") :]
    start: dict[str, Any] = json.loads(html.unescape(found.group(1)))
    return start


def asked(**more: Any) -> dict[str, Any]:
    return {
        "files": ["data/run2.dat"],
        "columns": {"potential": 1, "current": 2},
        "units": {"potential": "mV", "current": "uA"},
    } | more


def test_raw_lines_stand_beside_the_guess_and_a_correction_goes_for_the_siblings(folder: Path) -> None:
    with client_of(folder) as client:
        settled(client)
        start = start_of(client.get("/reading", params=FIRST).text)
        assert start["lines"][1]["cells"] == [["15.3", 1], [" ", 0], ["1.5153", 2], [" ", 0], ["0.1683", 3]]
        assert "cannot be told" in start["problem"]
        assert start["siblings"] == ["data/run2.dat"]
        told = client.post("/reading/try", params=FIRST, json=asked()).json()
        assert told["problem"] == ""
        assert told["samples"] == 120
        assert (told["tried"], told["failing"]) == (1, [])
        assert told["x"] == "potential 0 to 0.9 V"
        assert told["y"] == "current 1.5 to 2.4 µA"
        assert "<polyline" in told["picture"]
        assert "readers" not in (folder / "study.toml").read_text("utf-8")
        kept = client.post("/reading/keep", params=FIRST, json=asked()).json()
        assert (kept["go"], kept["files"]) == ("/files", 2)
        settled(client)
    readers = open_study(folder).file.readers
    assert [r.files for r in readers.values()] == ["run*.dat"]
    assert next(iter(readers.values())).units == {"potential": "mV", "current": "uA"}
    assert (folder / "study.toml").read_text("utf-8").startswith("# The data in this folder are invented.")


def test_a_second_correction_replaces_the_first_and_can_be_forgotten(folder: Path) -> None:
    with client_of(folder) as client:
        client.post("/reading/keep", params=FIRST, json=asked())
        other = asked(columns={"potential": 1, "current": 3})
        client.post("/reading/keep", params=FIRST, json=other)
        (reader,) = open_study(folder).file.readers.values()
        assert reader.columns["current"] == 3
        alone = asked(files=[], columns={"potential": 1, "current": 2})
        client.post("/reading/keep", params=FIRST, json=alone)
        first, second = open_study(folder).file.readers.values()
        assert (first.files, first.columns["current"]) == ("run1.dat", 2)
        assert (second.files, second.columns["current"]) == ("run*.dat", 3)
        start = start_of(client.get("/reading", params=FIRST).text)
        assert start["hints"]["columns"] == {"potential": 1, "current": 2}
        client.post("/reading/keep", params=FIRST, json={"files": []})
        (left,) = open_study(folder).file.readers.values()
        assert left.files == "run*.dat"
        settled(client)


def test_the_files_stand_by_their_layout_the_unread_ones_first(folder: Path) -> None:
    (folder / "notes").mkdir()
    (folder / "notes" / "plate.xlsx").write_bytes(b"PK")
    (folder / "notes" / "nothing.csv").write_bytes(b"")
    with client_of(folder) as client:
        page = client.get("/files").text
        assert "2 files cannot be understood without you" in page
        assert page.index("run1.dat") < page.index("told.csv")
        assert "save each sheet as CSV" in page
        assert "It is empty." in page
        assert "<polyline" in client.get("/reading/picture", params={"file": "data/told.csv"}).text
        settled(client)


def test_only_raw_files_of_the_study_are_shown(folder: Path) -> None:
    with client_of(folder) as client:
        for name in ("study.toml", "../secret.txt", "data/../study.toml", "/etc/hosts"):
            for path in ("/reading", "/reading/picture"):
                answer = client.get(path, params={"file": name})
                assert answer.status_code == 400
                assert "not a raw file of this study" in answer.text
            answer = client.post("/reading/keep", params=FIRST, json=asked(files=[name]))
            assert answer.status_code == 400
        assert "readers" not in (folder / "study.toml").read_text("utf-8")
        settled(client)


def test_a_correction_that_is_wrong_is_said_in_words_and_not_kept(folder: Path) -> None:
    with client_of(folder) as client:
        wrong = asked(columns={"potential": 9, "current": 2})
        told = client.post("/reading/try", params=FIRST, json=wrong).json()
        assert "9" in told["problem"]
        assert told["failing"] == ["data/run2.dat"]
        answer = client.post("/reading/keep", params=FIRST, json=wrong)
        assert answer.status_code == 400
        assert "2 of the 2 files cannot be read so" in answer.text
        assert "readers" not in (folder / "study.toml").read_text("utf-8")
        settled(client)


@pytest.mark.parametrize(
    ("line", "delimiter", "columns", "expected"),
    [
        ("1,5;2;", ";", 2, [["1,5", 1], [";", 0], ["2", 2], [";", 0]]),
        ("a\t\tb", "tab", 3, [["a", 1], ["\t", 0], ["", 2], ["\t", 0], ["b", 3]]),
        ("  1.0   2", "space", 2, [["  ", 0], ["1.0", 1], ["   ", 0], ["2", 2]]),
        ('"a, b",c', ",", 2, [['"a, b"', 1], [",", 0], ["c", 2]]),
        ("made by hand", ";", 2, [["made by hand", 0]]),
        ("1;2;3", ";", 2, [["1;2;3", 0]]),
    ],
)
def test_a_line_is_cut_at_its_columns_and_nothing_is_lost(
    line: str, delimiter: str, columns: int, expected: list[list[Any]]
) -> None:
    found = pieces(line, delimiter, columns)
    assert found == expected
    assert "".join(text for text, _ in found) == line


def test_columns_parted_by_a_bar_have_their_pages(folder: Path) -> None:
    told = folder / "data" / "told.csv"
    told.write_text(told.read_text("utf-8").replace(",", "|"), "utf-8")
    with client_of(folder) as client:
        settled(client)
        assert "bar between columns" in client.get("/files").text
        assert start_of(client.get("/reading", params={"file": "data/told.csv"}).text)["delimiter"] == "|"
