from __future__ import annotations

import json
from pathlib import Path

import pytest

from halfcell.cli import main
from study.spoiled import EVERY_MISTAKE, spoil


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    with pytest.raises(SystemExit) as ended:
        main(list(words))
    out, err = capsys.readouterr()
    return int(ended.value.code or 0), out, err


def test_mistakes_give_exit_code_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "study.toml").write_text("format = 1\nanalyte = 3\n", encoding="utf-8")
    code, out, err = run(capsys, "check", str(tmp_path))
    assert code == 1
    assert "error: study.toml, analyte (line 2)" in out
    assert 'example: analyte = "nitrite"' in out
    assert "error: runs.csv" in out
    assert out.splitlines()[-1].endswith("3 errors, 0 warnings.")
    assert err == ""


def test_json_is_one_object(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "check", str(tmp_path), "--json")
    said = json.loads(out)
    assert code == 1
    assert {p["file"] for p in said["problems"]} == {"study.toml", "runs.csv"}
    assert set(said["problems"][0]) == {"file", "place", "what", "example", "severity", "lines"}


def test_no_such_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "check", str(tmp_path / "none"))
    assert (code, out) == (1, "")
    assert "does not exist" in err
    assert "Traceback" not in err


def test_a_file_that_cannot_be_read_is_shown_with_the_keys_to_write(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "data").mkdir()
    (tmp_path / "data" / "a.csv").write_text("made up\n" + "0.1;2;3\n" * 30, encoding="utf-8")
    (tmp_path / "study.toml").write_text("format = 1\n[electrodes.A]\n", encoding="utf-8")
    rows = "file,electrode,technique,solution,concentration\ndata/a.csv,A,cyclic voltammogram,,0 mmol/L\n"
    (tmp_path / "runs.csv").write_text(rows, encoding="utf-8")
    _, out, _ = run(capsys, "check", str(tmp_path))
    (said,) = (part for part in out.split("\nerror: ") if part.startswith("data/a.csv"))
    assert "    the lines in question:\n         1  made up\n         2  0.1;2;3\n" in said
    assert "    example:\n    [readers.a]\n    files = " in said


def test_every_one_of_many_mistakes_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "data").mkdir()
    (tmp_path / "data" / "ni1_blank.csv").write_text(
        "t/s,E/V,I/A\n" + "".join(f"{i},{i}e-2,1e-6\n" for i in range(30)), encoding="utf-8"
    )
    spoil(tmp_path)
    code, out, err = run(capsys, "check", str(tmp_path))
    assert (code, err) == (1, "")
    errors = out.split("\nerror: ")
    assert len(errors) == len(EVERY_MISTAKE) >= 20
    for file, place, what in EVERY_MISTAKE:
        assert any(file in said and place in said and what in said for said in errors), (file, place, what)
    assert all("example: " in said for said in errors)
