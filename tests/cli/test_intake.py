from __future__ import annotations

import json
from pathlib import Path

import pytest

from halfcell.cli import main


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    with pytest.raises(SystemExit) as ended:
        main(list(words))
    out, err = capsys.readouterr()
    return int(ended.value.code or 0), out, err


@pytest.fixture
def exports(tmp_path: Path) -> Path:
    folder = tmp_path / "exports"
    folder.mkdir()
    sweep = [i * 0.01 for i in range(80)] + [0.8 - i * 0.01 for i in range(81)]
    lines = "\n".join(f"{i * 0.2:.1f},{e:.2f},{e * 1e-6:.3e}" for i, e in enumerate(sweep))
    (folder / "Ni-1_cv_1mM_50mVs.csv").write_text(f"t/s,E/V,I/A\n{lines}\n", encoding="utf-8")
    return folder


def test_intake_says_what_it_guessed_and_asks_the_rest(
    exports: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = run(capsys, "intake", str(exports), str(tmp_path / "study"))
    assert (code, err) == (0, "")
    assert "1 file taken in" in out
    assert "1 row from the name and the data" in out
    assert "study.toml, analyte: what is to be sensed?" in out
    assert "halfcell check" in out.splitlines()[-1]
    code, out, _ = run(capsys, "check", str(tmp_path / "study"))
    assert code == 1
    assert "'area' is still to be filled in" in out


def test_json(exports: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "intake", str(exports), str(tmp_path / "study"), "--json")
    said = json.loads(out)
    assert code == 0
    assert said["files"][0]["file"] == "data/Ni-1_cv_1mM_50mVs.csv"
    assert len(said["files"][0]["sha256"]) == 64
    assert said["questions"]


def test_a_folder_in_use(exports: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "intake", str(exports), str(exports))
    assert (code, out) == (1, "")
    assert "not empty" in err
