"""An export that cannot be understood by itself: shown, corrected by pointing, kept for its siblings."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from starlette.testclient import TestClient

from app.test_pages import client_of
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


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "data").mkdir()
    sweep = np.concatenate([np.linspace(0, 900, 60), np.linspace(900, 0, 60)])
    rows = "\n".join(f"{e:.1f} {1.5 + 0.001 * e:.4f} {0.2 * np.sin(i):.4f}" for i, e in enumerate(sweep))
    for name in ("run1.dat", "run2.dat"):
        (tmp_path / "data" / name).write_text(rows + "\n", "utf-8")
    (tmp_path / "study.toml").write_text(STUDY, "utf-8")
    lines = [f"data/{n},Ni-1,cyclic voltammogram,buffer,50 mV/s" for n in ("run1.dat", "run2.dat")]
    (tmp_path / "runs.csv").write_text(
        "file,electrode,technique,solution,scan_rate\n" + "\n".join(lines) + "\n", "utf-8"
    )
    return tmp_path


def settled(client: TestClient) -> None:
    background = client.app.app.state.desk.background  # type: ignore[attr-defined]
    background.stop()
    background.wait(60)


def test_raw_lines_stand_beside_the_guess_and_a_correction_goes_for_the_siblings(folder: Path) -> None:
    with client_of(folder) as client:
        settled(client)
        page = client.get("/reading", params={"file": "data/run1.dat"}).text
        assert "1.5153" in page, page[page.find("<main") :]
        assert "run*.dat" in page
        asked = {
            "files": "run*.dat",
            "columns": {"potential": 1, "current": 2},
            "units": {"potential": "mV", "current": "uA"},
        }
        told = client.post("/reading/try", params={"file": "data/run1.dat"}, json=asked).json()
        assert told["problem"] == ""
        assert told["samples"] == 120
        assert told["files"] == 2
        assert "readers" not in (folder / "study.toml").read_text("utf-8")
        assert client.post("/reading/keep", json=asked).json() == {"go": "/"}
        settled(client)
    kept = open_study(folder).file.readers
    assert [r.files for r in kept.values()] == ["run*.dat"]
    assert next(iter(kept.values())).units == {"potential": "mV", "current": "uA"}
    assert (folder / "study.toml").read_text("utf-8").startswith("# The data in this folder are invented.")


def test_only_raw_files_of_the_study_are_shown(folder: Path) -> None:
    with client_of(folder) as client:
        for name in ("study.toml", "../secret.txt", "data/../study.toml", "/etc/hosts"):
            answer = client.get("/reading", params={"file": name})
            assert answer.status_code == 400
            assert "not a raw file of this study" in answer.text
        settled(client)


def test_a_correction_that_is_wrong_is_said_in_words(folder: Path) -> None:
    with client_of(folder) as client:
        asked = {
            "files": "run*.dat",
            "columns": {"potential": 9, "current": 2},
            "units": {"potential": "mV", "current": "uA"},
        }
        told = client.post("/reading/try", params={"file": "data/run1.dat"}, json=asked).json()
        assert "9" in told["problem"]
        settled(client)
