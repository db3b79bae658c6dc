from __future__ import annotations

import os
import shutil
from pathlib import Path
from typing import Any

import pytest

from halfcell.app import watched
from halfcell.app.desk import Desk
from halfcell.app.traces import mark_of
from halfcell.app.watched import Watched, named
from halfcell.study import open_study

RUNS = b"file;electrode;log\ndata/a.csv;Ni-1;\ndata/b.csv;Ni-1;data/log.csv\ndata/b.csv;Ni-2;\n"
CURRENT = "time / s,current / A\n" + "".join(f"{i},{1e-6 * i}\n" for i in range(30))
TOML = """format = 1
title = "{title}"
analyte = "nitrite"
reference_electrode = "Ag/AgCl, 3 M KCl"
oxidation_current = "{sign}"

[electrodes.Ni-1]
material = "nickel"
area = "0.0707 cm^2"
"""


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


def test_a_picture_has_another_address_when_it_may_look_otherwise(tmp_path: Path) -> None:
    def mark(name: str, current: str, sign: str, title: str = "") -> str:
        folder = tmp_path / name
        (folder / "data").mkdir(parents=True, exist_ok=True)
        data = folder / "data" / "a.csv"
        if not data.exists() or data.read_text("utf-8") != current:
            data.write_text(current, "utf-8")
        (folder / "study.toml").write_text(TOML.format(sign=sign, title=title), "utf-8")
        (folder / "runs.csv").write_text("file,electrode,technique\ndata/a.csv,Ni-1,deposition\n", "utf-8")
        study = open_study(folder)
        return mark_of(study, study.runs[0])

    first = mark("one", CURRENT, "positive")
    assert mark("one", CURRENT, "positive", title="another") == first
    others = [
        mark("one", CURRENT, "negative"),
        mark("two", CURRENT, "positive"),
        mark("one", CURRENT + "99,1e-6\n", "positive"),
    ]
    assert len({first, *others}) == 4
