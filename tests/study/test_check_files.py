from __future__ import annotations

from pathlib import Path

import pytest

from halfcell.study.check_files import inside
from halfcell.study.load import check


@pytest.mark.parametrize(
    ("path", "what", "example"),
    [
        ("/etc/passwd", "absolute", "data/passwd"),
        ("C:\\data\\a.csv", "absolute", "data/a.csv"),
        ("c:a.csv", "absolute", "data/c:a.csv"),
        ("\\\\server\\share\\a.csv", "absolute", "data/a.csv"),
        ("~/a.csv", "absolute", "data/a.csv"),
        ("../a.csv", "leaves the study folder", "data/a.csv"),
        ("data/../../a.csv", "leaves the study folder", "data/a.csv"),
        ("data\\ni1_blank.csv", "backslashes", "data/ni1_blank.csv"),
        ("https://example.org/a.csv", "nothing is fetched", "data/a.csv"),
        ("file:///a.csv", "nothing is fetched", "data/a.csv"),
        ("data", "is a folder", "data/ni1.csv"),
        ("data/NI1_BLANK.csv.bak", "did you mean 'data/ni1_blank.csv'", "data/ni1_blank.csv"),
        ("elsewhere/ni1_1mM.csv", "did you mean 'data/ni1_1mM.csv'", "data/ni1_1mM.csv"),
        ("x" * 3000, "does not exist", "data/ni1.csv"),
    ],
)
def test_paths_that_are_refused(study: Path, path: str, what: str, example: str) -> None:
    text = (study / "runs.csv").read_text("utf-8").replace("data/cu1_blank.csv", path)
    (study / "runs.csv").write_text(text, encoding="utf-8")
    errors = [p for p in check(study) if p.severity == "error"]
    assert len(errors) == 1, [str(p) for p in errors]
    assert errors[0].place == "row 4, column file"
    assert what in errors[0].what
    assert errors[0].example == example


def test_links(study: Path, tmp_path: Path) -> None:
    (tmp_path / "outside").mkdir()
    (tmp_path / "outside" / "a.csv").write_text("x")
    try:
        (study / "data" / "out").symlink_to(tmp_path / "outside", target_is_directory=True)
        (study / "data" / "loop.csv").symlink_to(study / "data" / "loop.csv")
        (study / "data" / "within.csv").symlink_to(study / "data" / "ni1_blank.csv")
    except OSError:
        pytest.skip("links are not allowed here")
    assert "leaves the study folder" in (inside("data/out/a.csv", study) or "")
    assert inside("data/within.csv", study) is None
    text = (study / "runs.csv").read_text("utf-8").replace("data/cu1_blank.csv", "data/loop.csv")
    (study / "runs.csv").write_text(text, encoding="utf-8")
    assert any(p.place == "row 4, column file" and p.severity == "error" for p in check(study))


def test_logs_are_held_to_the_same(study: Path) -> None:
    head, *rows = (study / "runs.csv").read_text("utf-8").splitlines()
    (study / "runs.csv").write_text(
        "\n".join([f"{head},log", *(f"{r},../log.csv" for r in rows)]), encoding="utf-8"
    )
    errors = [p for p in check(study) if p.severity == "error"]
    assert [p.place for p in errors] == [f"row {n}, column log" for n in (2, 3, 4)]


def test_many_stray_files_are_summed_up(study: Path) -> None:
    for number in range(30):
        (study / "data" / f"more{number:02}.csv").write_text(str(number))
    (study / "report").mkdir()
    (study / "report" / "findings.csv").write_text("x")
    (study / "notes.txt").write_text("x")
    problems = check(study)
    assert len(problems) == 21
    assert "10 more files have no row" in problems[-1].what
    assert "notes.txt" not in "".join(map(str, problems))
