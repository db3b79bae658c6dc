"""The grid of names as the server gives it and takes it."""

from __future__ import annotations

import html
import json
import re
from pathlib import Path
from typing import Any

from app.test_pages import client_of

STUDY = (
    'format = 1\nanalyte = "?"\nreference_electrode = "?"\n\n[electrodes.one]\nmaterial = "?"\narea = "?"\n'
)
RUNS = "file,electrode,technique,guessed\ndata/Ni-1_cv_x7.csv,one,?,electrode from the name\ndata/Ni-2_cv_x9.csv,one,?,\n"


def study(folder: Path) -> Path:
    (folder / "study.toml").write_text(STUDY, "utf-8")
    (folder / "runs.csv").write_text(RUNS, "utf-8")
    return folder


def start_of(page: str) -> dict[str, Any]:
    found = re.search(r'<name-grid data-start="([^"]*)"', page)
    assert found
    start: dict[str, Any] = json.loads(html.unescape(found.group(1)))
    return start


def test_a_study_that_is_not_right_yet_can_be_sorted(tmp_path: Path) -> None:
    with client_of(study(tmp_path)) as client:
        start = start_of(client.get("/names").text)
        assert [r["name"] for r in start["rows"]] == ["Ni-1_cv_x7.csv", "Ni-2_cv_x9.csv"]
        assert start["rows"][0]["guessed"] == "electrode from the name"
        meanings = {p["key"]: p["meaning"] for p in start["parts"]}
        assert meanings["part 1"] == "material"
        meanings["part 3"] = "concentration mmol/L"
        found = client.post("/names/try", json={"meanings": meanings}).json()
        assert found["cells"]["data/Ni-2_cv_x9.csv"] == {
            "electrode": "Ni-2",
            "technique": "cyclic voltammogram",
            "concentration": "9 mmol/L",
        }
        assert found["electrodes"]["Ni-2"] == {"material": "nickel"}
        cells = [
            {"file": file, "column": column, "was": {"electrode": "one", "technique": "?"}.get(column, ""), "value": value}
            for file, row in found["cells"].items()
            for column, value in row.items()
        ]  # fmt: skip
        kept = client.post("/names/keep", json={"cells": cells, "electrodes": found["electrodes"]})
        assert kept.json()["go"] == "/questions"
        again = start_of(client.get("/names").text)
        assert [r["cells"]["electrode"] for r in again["rows"]] == ["Ni-1", "Ni-2"]
        assert set(again["electrodes"]) == {"Ni-1", "Ni-2"}
        assert again["rows"][0]["guessed"] == ""


def test_a_cell_that_others_changed_is_shown_in_both_versions(tmp_path: Path) -> None:
    file = "data/Ni-1_cv_x7.csv"
    cell = {"file": file, "column": "electrode", "was": "one", "value": "Ni-1"}
    with client_of(study(tmp_path)) as client:
        (tmp_path / "runs.csv").write_text(RUNS.replace(f"{file},one", f"{file},two"), "utf-8")
        before = (tmp_path / "study.toml").read_bytes()
        answer = client.post("/names/keep", json={"cells": [cell]})
        assert answer.status_code == 409
        (clash,) = answer.json()["clashes"]
        assert clash == {
            "at": f"{file}\telectrode",
            "what": f"electrode of {file}",
            "yours": "Ni-1",
            "now": "two",
        }
        assert (tmp_path / "study.toml").read_bytes() == before
        kept = client.post("/names/keep", json={"cells": [cell | {"was": "two"}]})
        assert kept.status_code == 200
        assert "Ni-1," in (tmp_path / "runs.csv").read_text("utf-8")


def test_what_cannot_be_is_refused_in_words(tmp_path: Path) -> None:
    with client_of(study(tmp_path)) as client:
        answer = client.post("/names/try", json={"meanings": {"part 1": "colour"}})
        assert answer.status_code == 400
        assert "not a meaning" in answer.text
        cell = {"file": "data/Ni-1_cv_x7.csv", "column": "file", "was": "", "value": "/etc/hosts"}
        answer = client.post("/names/keep", json={"cells": [cell]})
        assert answer.status_code == 400
        assert "not a column of this grid" in answer.text
    with client_of(None) as client:
        assert "No study is open" in client.get("/names").text
        assert "No study is open" in client.get("/files").text
