from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from halfcell.app.kept import history_of
from halfcell.cli import main
from halfcell.study.history import History


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    with pytest.raises(SystemExit) as ended:
        main(list(words))
    out, err = capsys.readouterr()
    return int(ended.value.code or 0), out, err


def export(path: Path, height: float) -> None:
    sweep = [i * 0.01 for i in range(80)] + [0.8 - i * 0.01 for i in range(81)]
    lines = "\n".join(f"{i * 0.2:.1f},{e:.2f},{e * height:.3e}" for i, e in enumerate(sweep))
    path.parent.mkdir(exist_ok=True)
    path.write_text(f"t/s,E/V,I/A\n{lines}\n", encoding="utf-8")


@pytest.fixture
def study(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    export(tmp_path / "monday" / "Ni-1_cv_1mM_50mVs.csv", 1e-6)
    run(capsys, "intake", str(tmp_path / "monday"), str(tmp_path / "study"))
    export(tmp_path / "tuesday" / "Ni-1_cv_2mM_50mVs.csv", 2e-6)
    export(tmp_path / "tuesday" / "Cu-1_cv_1mM_50mVs.csv", 3e-6)
    export(tmp_path / "tuesday" / "copy.csv", 1e-6)
    return tmp_path / "study"


def test_what_was_added_guessed_asked_and_left(
    study: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = (study / "runs.csv").read_bytes()
    code, out, err = run(capsys, "add", str(study), str(tmp_path / "tuesday"))
    assert (code, err) == (0, "")
    out = re.sub(r"\s+", " ", out)
    assert "2 files taken in, 2 rows added to runs.csv" in out
    assert "New electrode in study.toml: Cu-1." in out
    assert "copy.csv is the same, to the last byte, as data/Ni-1_cv_1mM_50mVs.csv" in out
    assert "column electrode: 2 rows from the name" in out
    assert "the geometric area of each (Cu-1)" in out
    assert "analyte" not in out
    # It is a step that the app can take back.
    history = History(folder=study.resolve(), store=history_of(study.resolve()))
    assert history.standing().undo_what == "2 files added (new: Cu-1)"
    history.undo()
    assert (study / "runs.csv").read_bytes() == before


def test_json_and_one_file(study: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source = tmp_path / "tuesday" / "Cu-1_cv_1mM_50mVs.csv"
    code, out, _ = run(capsys, "add", str(study), str(source), "--json", "--below", "second day")
    said = json.loads(out)
    assert code == 0
    assert [f["file"] for f in said["files"]] == ["data/second day/Cu-1_cv_1mM_50mVs.csv"]
    assert len(said["files"][0]["sha256"]) == 64
    assert (said["left"], said["electrodes"], said["solutions"]) == ([], ["Cu-1"], [])


def test_refusals(study: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "add", str(study), str(tmp_path / "monday"))
    assert (code, out) == (1, "")
    assert "nothing new to add" in err
    code, _, err = run(capsys, "add", str(tmp_path / "monday"), str(study))
    assert code == 1
    assert "is not a study" in err
    export(tmp_path / "wednesday" / "Ni-1_cv_1mM_50mVs.csv", 7e-6)
    code, _, err = run(capsys, "add", str(study), str(tmp_path / "wednesday"))
    assert code == 1
    assert "--below" in err
