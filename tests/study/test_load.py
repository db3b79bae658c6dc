from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest

from halfcell.errors import Problem, StudyError
from halfcell.study import open_study
from halfcell.study.edit import StudyEdit
from halfcell.study.load import check
from halfcell.vocabulary import TERMS, Term
from study.spoiled import EVERY_MISTAKE, spoil


@pytest.fixture(autouse=True)
def _terms(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(
        TERMS,
        "sensitivity",
        Term(
            name="sensitivity",
            label="S",
            meaning="slope",
            unit="uA/(mmol/L)",
            si="A/(mol/m^3)",
            place="Quantifies",
        ),
    )
    monkeypatch.setitem(
        TERMS,
        "response_class",
        Term(name="response_class", label="class", meaning="class", place="Responds", word=True),
    )


def only(problems: tuple[Problem, ...], part: str) -> Problem:
    found = [p for p in problems if part in f"{p.file} {p.place} {p.what}"]
    assert len(found) == 1, [str(p) for p in problems]
    return found[0]


def test_a_right_study_opens(study: Path) -> None:
    opened = open_study(study)
    assert [r.file for r in opened.runs] == ["data/ni1_blank.csv", "data/ni1_1mM.csv", "data/cu1_blank.csv"]
    assert opened.runs[1].concentration == pytest.approx(1.0)  # mol/m³
    assert opened.runs[1].scan_rate == pytest.approx(0.05)
    assert opened.file.electrodes["Cu-1"].area == pytest.approx(7.07e-6)
    assert check(study) == ()


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "latin-1"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_runs_in_every_spreadsheet_dialect(study: Path, encoding: str, delimiter: str, newline: str) -> None:
    text = (study / "runs.csv").read_text("utf-8").replace(",", delimiter).replace("1 mmol/L", '"1,5 mmol/L"')
    text = text.replace("base", "bäse").replace("scan_rate", "Scan rate").replace("\n", newline)
    (study / "runs.csv").write_bytes(text.encode(encoding))
    toml = (study / "study.toml").read_text("utf-8").replace("[solutions.base]", '[solutions."bäse"]')
    (study / "study.toml").write_text(toml, encoding="utf-8")
    opened = open_study(study)
    assert opened.runs[1].concentration == pytest.approx(1.5)
    assert opened.runs[1].solution == "bäse"


def test_check_names_every_one_of_many_mistakes(study: Path) -> None:
    spoil(study)
    errors = [p for p in check(study) if p.severity == "error"]
    for file, place, what in EVERY_MISTAKE:
        assert any(p.file == file and place in p.place and what in p.what for p in errors), (
            file,
            place,
            what,
        )
    assert len(errors) == len(EVERY_MISTAKE), "\n".join(str(p) for p in errors)
    assert all(p.example for p in errors)
    assert not [p for p in errors if "pydantic" in str(p) or "Input should" in str(p)]


def test_opening_a_spoiled_study_says_all_of_it(study: Path) -> None:
    spoil(study)
    with pytest.raises(StudyError, match="34 mistakes") as caught:
        open_study(study)
    assert len(caught.value.problems) == len(EVERY_MISTAKE)


def test_the_examples_are_right(study: Path) -> None:
    text = (study / "study.toml").read_text("utf-8")
    (study / "study.toml").write_text(text.replace('"0.0707 cm^2"', "0.0707"), encoding="utf-8")
    wrong = only(check(study), "area")
    (study / "study.toml").write_text(text.replace('area = "0.0707 cm^2"', wrong.example), encoding="utf-8")
    assert check(study) == ()


def test_a_newer_format_is_refused_politely(study: Path) -> None:
    text = (study / "study.toml").read_text("utf-8").replace("format = 1", "format = 2\nnew_key = 3")
    (study / "study.toml").write_text(text, encoding="utf-8")
    problem = only(check(study), "format")
    assert "format 2" in problem.what
    assert "newer halfcell" in problem.what


def test_an_unfilled_answer_is_asked_for(study: Path) -> None:
    text = (
        (study / "study.toml").read_text("utf-8").replace('"nitrite"', '"?"').replace('"0.0707 cm^2"', '"?"')
    )
    (study / "study.toml").write_text(text, encoding="utf-8")
    assert sorted(p.what.split(":")[0] for p in check(study)) == [
        "'analyte' is still to be filled in",
        "'area' is still to be filled in",
    ]


@pytest.mark.skipif(not hasattr(os, "symlink"), reason="needs links")
def test_a_link_that_leaves_the_folder_is_refused(study: Path, tmp_path: Path) -> None:
    outside = tmp_path / "secret.csv"
    outside.write_text("x")
    target = study / "data" / "ni1_blank.csv"
    target.unlink()
    try:
        target.symlink_to(outside)
    except OSError:
        pytest.skip("links are not allowed here")
    assert "leaves the study folder" in only(check(study), "row 2").what
    (study / "adjustments.toml").symlink_to(outside)
    assert any(p.file == "adjustments.toml" and "leaves" in p.what for p in check(study))


def test_no_folder(tmp_path: Path) -> None:
    (tmp_path / "my-study").mkdir()
    with pytest.raises(StudyError, match="did you mean 'my-study'"):
        check(tmp_path / "my-studdy")
    (tmp_path / "file").write_text("x")
    with pytest.raises(StudyError, match="not a folder"):
        open_study(tmp_path / "file")


def test_missing_files_of_the_study(tmp_path: Path) -> None:
    (tmp_path / "runs.cvs").write_text("x")
    problems = check(tmp_path)
    assert [p.file for p in problems] == ["study.toml", "runs.csv"]
    assert "did you mean 'runs.cvs'" in problems[1].what


def test_stray_files_blanks_and_scales_are_warnings(study: Path) -> None:
    (study / "data" / "stray.csv").write_text("x")
    runs = (
        (study / "runs.csv").read_text("utf-8").replace("data/ni1_blank.csv,Ni-1", "data/ni1_blank.csv,Cu-1")
    )
    (study / "runs.csv").write_text(runs, encoding="utf-8")
    problems = check(study)
    assert {p.severity for p in problems} == {"warning"}
    assert "no row" in only(problems, "stray").what
    assert "blank" in only(problems, "row 3").what
    assert len(open_study(study).runs) == 3


DECISIONS = """\
format = 1
[[adjustment]]
kind = "mask region"
file = "data/ni1_1mM.csv"
polygon = [[0, 0], [1, 0], [1, 1]]
[[adjustment]]
kind = "baseline window"
file = "data/ni1_1mM.csv"
windows = [["0.3 V", "0.4 V"], ["0.5 V", "500 mV"]]
"""


def test_decisions_that_cannot_be_meant(study: Path) -> None:
    (study / "adjustments.toml").write_text(DECISIONS, encoding="utf-8")
    problems = check(study)
    assert "'mask region' is about a record of the kind 'micrograph'" in only(problems, "adjustment.1").what
    assert "has no width" in only(problems, "adjustment.2").what


def test_raw_files_that_cannot_be_read_say_how(study: Path) -> None:
    (study / "data" / "cu1_blank.csv").write_text("a b\nnothing here\n", encoding="utf-8")
    (study / "data" / "ni1_blank.csv").write_bytes(b"")
    problems = [p for p in check(study) if p.severity == "error"]
    assert {p.file for p in problems} == {"data/cu1_blank.csv", "data/ni1_blank.csv"}
    assert all("[readers." in p.example for p in problems if p.file == "data/cu1_blank.csv")


def test_a_technique_that_the_columns_contradict(study: Path) -> None:
    (study / "data" / "cu1_blank.csv").write_text(
        "t/s,I/A\n" + "".join(f"{i},{i}e-6\n" for i in range(30)), encoding="utf-8"
    )
    assert "no potential" in only(check(study), "row 4").what


def test_addition_logs(study: Path) -> None:
    (study / "data" / "log.csv").write_text("time;volum\n60 s;10 uL\n90;10 s\n", encoding="utf-8")
    runs = (study / "runs.csv").read_text("utf-8").splitlines()
    (study / "runs.csv").write_text(
        "\n".join([runs[0] + ",log", *(r + "," for r in runs[1:3]), runs[3] + ",data/log.csv"]),
        encoding="utf-8",
    )
    said = [f"{p.place}: {p.what}" for p in check(study) if p.file == "data/log.csv"]
    assert len(said) == 3
    assert "did you mean 'volum'" in said[0]
    assert "row 3, column time: '90' has no unit" in said[2]


def test_a_syntax_mistake_does_not_hide_the_others(study: Path) -> None:
    text = (study / "study.toml").read_text("utf-8")
    text = (
        text.replace('area = "0.0707 cm^2"', "area = 0.0707 cm^2").replace(
            'material = "copper"', "material copper"
        )
        + "\nwrong key = 1\n"
    )
    (study / "study.toml").write_text(text, encoding="utf-8")
    places = [p.place for p in check(study)]
    assert len(places) == 4  # three lines, and the material that one of them should have given
    assert sum("line" in p and not p.startswith("electrodes") for p in places) == 3


@pytest.mark.parametrize(
    "text", ['analyte = """never ends', "[electrodes", "\x00", "x = [1,\n", "= 3", "a.b = 1\na = 2"]
)
def test_no_text_is_too_broken_to_be_named(study: Path, text: str) -> None:
    (study / "study.toml").write_text(text, encoding="utf-8")
    assert any(p.file == "study.toml" for p in check(study))


def test_hostile_bytes_never_raise(study: Path) -> None:
    rng = np.random.default_rng(1)
    for name in ("study.toml", "runs.csv", "adjustments.toml"):
        original = (study / name).read_bytes() if (study / name).exists() else b"format = 1\n"
        for _ in range(40):
            data = bytearray(original)
            for place in rng.integers(0, len(data), 6):
                data[place] = rng.integers(0, 256)
            (study / name).write_bytes(bytes(data[: rng.integers(1, len(data) + 1)]))
            assert isinstance(check(study), tuple)
        (study / name).write_bytes(original)


def test_a_file_copied_under_two_names_is_noticed(study: Path) -> None:
    (study / "data" / "cu1_blank.csv").write_bytes((study / "data" / "ni1_blank.csv").read_bytes())
    problem = only(check(study), "last byte")
    assert problem.severity == "warning"
    assert "row 4" in problem.place
    assert "data/ni1_blank.csv" in problem.what


def test_micrographs_without_a_scale(study: Path) -> None:
    import tifffile
    from PIL import Image

    pixels = np.zeros((30, 40), dtype=np.uint8)
    (study / "images").mkdir()
    Image.fromarray(pixels).save(study / "images" / "a.png")
    Image.fromarray(pixels + 1).save(study / "images" / "b.png")
    tifffile.imwrite(study / "images" / "c.tif", pixels, resolution=(1e7, 1e7), resolutionunit=3)
    rows = "images/a.png,Ni-1,micrograph,,,,\nimages/b.png,Ni-1,micrograph,,,,2 nm\nimages/c.tif,Ni-1,micrograph,,,,\n"
    head, *rest = (study / "runs.csv").read_text("utf-8").splitlines()
    (study / "runs.csv").write_text(
        "\n".join([head + ",scale", *(r + "," for r in rest), rows]), encoding="utf-8"
    )
    problem = only(check(study), "scale")
    assert "row 5" in problem.place
    assert problem.severity == "warning"
    (study / "images" / "b.png").write_bytes(b"\x89PNG\r\n\x1a\n" + b"\0" * 40)
    assert any(p.file == "images/b.png" and p.severity == "error" for p in check(study))


@pytest.mark.parametrize(
    "text",
    [
        "x = " + "[" * 5000,
        "x = " + "{ a = " * 3000,
        "x = " + "9" * 5000,
        "x = 2026-02-31",
        "x = 1e999",
        'analyte = "\\u001b[2J"',
        '"\\u202e" = 1',
        "analyte = 2026-01-01\nreference_electrode = [1, { a = 2 }]\nelectrodes = 3\nsolutions = []\nreaders = true\nchoice = 1\ncomparison = 'x'",
        "[choice]\nmusts = 3\nwants = [1, 'a']\n[electrodes]\na = 1\n[solutions]\nb = []",
        "format = true",
        "format = -1",
    ],
)
def test_hostile_toml_is_only_a_mistake(study: Path, text: str) -> None:
    (study / "study.toml").write_text(text, encoding="utf-8")
    (study / "adjustments.toml").write_text(text, encoding="utf-8")
    problems = [p for p in check(study) if p.severity == "error"]
    assert {"study.toml", "adjustments.toml"} <= {p.file for p in problems}
    assert not any("\x1b" in str(p) or "\u202e" in str(p) for p in problems)


def test_control_characters_are_named(study: Path) -> None:
    (study / "runs.csv").write_text(
        (study / "runs.csv").read_text("utf-8").replace("1 mmol/L", "1 mmol/L\x1b[31m"), encoding="utf-8"
    )
    assert "control character" in next(p for p in check(study) if "row 3" in p.place).what


def test_separators_that_are_no_line_ends_do_not_break_a_text(study: Path) -> None:
    text = (study / "study.toml").read_text("utf-8").replace('"0.1 M NaOH"', '"0.1 M\u2028NaOH\u0085"')
    (study / "study.toml").write_text(text.replace("\u0085", ""), encoding="utf-8")
    assert open_study(study).file.solutions["base"].description == "0.1 M\u2028NaOH"


def test_a_pipe_or_folder_in_place_of_a_file(study: Path) -> None:
    (study / "adjustments.toml").mkdir()
    assert "no file" in only(check(study), "adjustments").what


def test_a_study_without_any_concentration_is_told_that_all_are_blanks(study: Path) -> None:
    path = study / "runs.csv"
    said = "no row states a concentration"
    assert not any(said in p.what for p in check(study))
    rows = path.read_text("utf-8").splitlines()
    at = rows[0].split(",").index("concentration")
    cut = [",".join("" if k == at else cell for k, cell in enumerate(row.split(","))) for row in rows[1:] if "additions" not in row]  # fmt: skip
    path.write_text("\n".join([rows[0], *cut]) + "\n", "utf-8")
    (problem,) = [p for p in check(study) if said in p.what]
    assert (problem.severity, problem.place) == ("warning", "column concentration")


def test_additions_without_a_log_are_warned_of(study: Path) -> None:
    said = "names no addition log"
    assert not any(said in p.what for p in check(study))
    path = study / "runs.csv"
    rows = path.read_text("utf-8").splitlines()
    at = rows[0].split(",").index("technique")
    cells = rows[1].split(",")
    cells[at] = "additions"
    path.write_text("\n".join([rows[0], ",".join(cells), *rows[2:]]) + "\n", "utf-8")
    (problem,) = [p for p in check(study) if said in p.what]
    assert problem.severity == "warning"
    assert problem.place == "row 2, column log"


def test_patterns_of_readers_mean_small_and_capital_letters_everywhere(
    study: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("os.path.normcase", str.lower)  # as where file names have none
    edit = StudyEdit(study)
    edit.add_reader("x", {"files": "NI1_*.csv", "columns": {"potential": 8, "current": 9}})
    edit.save()
    assert [p.what for p in check(study)] == ["no file of runs.csv is matched by 'NI1_*.csv'."]
