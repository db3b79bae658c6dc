from __future__ import annotations

import os
import shutil
from pathlib import Path
from typing import Any

import pytest

from halfcell.app import watched
from halfcell.app.desk import Desk
from halfcell.app.watched import Watched, named

RUNS = b"file;electrode;log\ndata/a.csv;Ni-1;\ndata/b.csv;Ni-1;data/log.csv\ndata/b.csv;Ni-2;\n"


@pytest.fixture(autouse=True)
def at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(watched, "_EVERY", -1.0)


def test_raw_files_and_logs_are_named_once() -> None:
    assert named(RUNS) == ("data/a.csv", "data/b.csv", "data/log.csv")
    assert named(b"") == ()


def test_a_file_replaced_gone_or_back_changes_the_state(tmp_path: Path) -> None:
    (tmp_path / "data").mkdir()
    look = Watched()
    states = [look.state(tmp_path, RUNS)]
    (tmp_path / "data/log.csv").write_text("1", "utf-8")
    states.append(look.state(tmp_path, RUNS))
    assert look.state(tmp_path, RUNS) == states[-1]
    (tmp_path / "data/log.csv").write_text("12", "utf-8")
    states.append(look.state(tmp_path, RUNS))
    os.utime(tmp_path / "data/log.csv", ns=(1, 1))
    states.append(look.state(tmp_path, RUNS))
    assert len(set(states)) == len(states)
    (tmp_path / "data/log.csv").unlink()
    assert look.state(tmp_path, RUNS) == states[0]


def test_names_no_file_can_have_are_absent(tmp_path: Path) -> None:
    assert Watched().state(tmp_path, b"file\nnul\0\n") == Watched().state(tmp_path, b"file\ndata/gone.csv\n")


def test_the_app_follows_a_raw_file_put_in_place_of_another(small_analysis: Any, tmp_path: Path) -> None:
    folder = tmp_path / "study"
    shutil.copytree(small_analysis.study.folder, folder)
    desk = Desk(folder)
    before = {f.key: f.value for f in desk.current().findings}
    run = next(
        r for r in small_analysis.study.runs if r.technique == "cyclic voltammogram" and r.concentration
    )
    other = next(
        r for r in small_analysis.study.runs
        if r.technique == run.technique and r.electrode != run.electrode
        and (r.concentration, r.scan_rate, Path(r.file).suffix) == (run.concentration, run.scan_rate, Path(run.file).suffix)
    )  # fmt: skip
    shutil.copyfile(folder / other.file, folder / run.file)
    after = {f.key: f.value for f in desk.current().findings}
    told = {k for k in before.keys() & after.keys() if before[k] != after[k]}
    assert told, "the numbers are still those of the file before"
    assert desk.analysed == desk.edition()
    (folder / run.file).rename(tmp_path / "aside")
    assert any(run.file in p.what or run.file in p.place for p in desk.problems())
    (tmp_path / "aside").rename(folder / run.file)
    assert not desk.problems()
