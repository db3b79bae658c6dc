"""analyze, why and report as a person meets them, on a study that needs no computing."""

from __future__ import annotations

import csv
import io
import json

import numpy as np
import pytest

from halfcell.cli import main
from halfcell.errors import Problem
from halfcell.finding import Finding, Findings
from halfcell.recording import Recording

STUDY = """\
format = 1
analyte = "nitrite"
reference_electrode = "Ag/AgCl"
[electrodes.Ni-1]
material = "nickel"
area = "0.07 cm^2"
"""


@pytest.fixture
def folder(tmp_path, monkeypatch):
    (tmp_path / "data").mkdir()
    (tmp_path / "study.toml").write_text(STUDY, "utf-8")
    (tmp_path / "data" / "a.csv").write_text(
        "E/V,i/A\n" + "".join(f"{k / 100},{k * 1e-9}\n" for k in range(60)), "utf-8"
    )
    (tmp_path / "runs.csv").write_text(
        "file,electrode,technique,scan_rate\ndata/a.csv,Ni-1,linear sweep,50 mV/s\n", "utf-8"
    )
    import halfcell.pipeline
    from halfcell.pipeline.outcome import Analysis
    from halfcell.study import open_study

    def analyze(folder, *, cores=None, progress=None, **_):
        study = open_study(folder)
        row = {
            "electrode": "Ni-1",
            "group": "nickel",
            "method": "m",
            "source": "s",
            "recordings": ("data/a.csv",),
        }
        rows = (
            Finding(name="height", value=1.25, standard_uncertainty=0.1, unit="uA", **row),
            Finding(
                name="height", value=float("nan"), unit="uA", condition="1 mM", notes=("=no peak",), **row
            ),
        )
        problems = (Problem(file="data/a.csv", what="Doubtful.", severity="warning"),)
        return Analysis(study=study, findings=Findings(rows), exhibits=(), problems=problems)

    def load(folder, path, **options):
        return Recording(
            file=path,
            sha256="",
            current=np.zeros(60),
            extra={},
            reader="text",
            columns=(("current", "i/A", "A"),),
        )

    import halfcell.pipeline.loading

    monkeypatch.setattr(halfcell.pipeline.loading, "load", load)
    monkeypatch.setattr(halfcell.pipeline, "analyze", analyze)
    return tmp_path


def run(capsys, *arguments: str) -> tuple[int, str, str]:
    with pytest.raises(SystemExit) as ended:
        main(list(arguments))
    out, err = capsys.readouterr()
    return ended.value.code, out, err


def test_json_is_one_object_and_nothing_else(folder, capsys):
    code, out, err = run(capsys, "analyze", str(folder), "--json")
    assert code == 0
    table = json.loads(out)
    assert table["format"] == 1
    first, second = table["findings"]
    assert (first["name"], first["value"], first["standard_uncertainty"], first["unit"]) == (
        "height",
        1.25,
        0.1,
        "uA",
    )
    assert first["degrees_of_freedom"] is None
    assert second["value"] is None
    assert "Doubtful." in err


def test_csv_is_a_table(folder, capsys):
    _, out, _ = run(capsys, "analyze", str(folder), "--csv")
    rows = list(csv.DictReader(io.StringIO(out)))
    assert [row["value"] for row in rows] == ["1.25", ""]


def test_a_person_sees_value_uncertainty_and_unit(folder, capsys):
    code, out, err = run(capsys, "analyze", str(folder))
    assert code == 0
    assert "1.25 ± 0.10 µA" in out
    assert "2 findings" in out
    assert "warning: data/a.csv: Doubtful." in err


def test_two_formats_at_once_are_refused(folder, capsys):
    code, _, err = run(capsys, "analyze", str(folder), "--json", "--csv")
    assert code == 2
    assert "choose one" in err


def test_why_tells_the_thread(folder, capsys):
    code, out, _ = run(capsys, "why", str(folder), "height", "Ni-1", "--condition", "1 mM")
    assert code == 0
    assert "Recording data/a.csv" in out
    assert "=no peak" in out
    assert "current = 'i/A' in A" in out


def test_why_shows_the_plain_one_and_lists_those_under_a_condition(folder, capsys, monkeypatch):
    monkeypatch.setattr("halfcell.cli.why.MOST", 1)
    code, out, _ = run(capsys, "why", str(folder), "height", "Ni-1")
    assert code == 0
    assert "value" in out
    assert "1.25 ± 0.10 µA" in out
    assert "Under a condition (add --condition):\n  Ni-1, 1 mM" in out


def test_why_of_an_unknown_finding_names_the_nearest(folder, capsys):
    code, _, err = run(capsys, "why", str(folder), "hieght", "Ni-1")
    assert code == 1
    assert "Did you mean height?" in err
    assert "Traceback" not in err


def test_report_names_what_it_wrote(folder, capsys):
    code, out, err = run(capsys, "report", str(folder), "--folder", str(folder / "out"), "--part", "methods")
    assert code == 0
    assert [line.rsplit(".", 1)[1] for line in out.split()] == ["html", "pdf", "csv", "json", "xlsx", "txt"]
    assert (folder / "out" / "report.html").is_file()
    assert "Doubtful." in err


def test_report_of_an_unknown_part_is_a_mistake_in_the_command(folder, capsys):
    code, _, err = run(capsys, "report", str(folder), "--part", "nonsense")
    assert code == 2
    assert "the parts are" in err.replace("\n", " ")


@pytest.mark.parametrize("verb", ["analyze", "report"])
def test_a_folder_that_is_no_study_is_said_without_a_traceback(verb, tmp_path, capsys):
    code, _, err = run(capsys, verb, str(tmp_path / "nowhere"))
    assert code == 1
    assert "nowhere" in err or "study.toml" in err
    assert "Traceback" not in err


def test_a_figure_format_or_width_that_cannot_be_is_said(folder, capsys):
    code, _, err = run(capsys, "report", str(folder), "--save-figures", "gif")
    assert code == 2
    assert "svg, pdf or png" in err.replace("\n", " ")
    code, _, err = run(capsys, "report", str(folder), "--save-figures", "png", "--width", "85")
    assert code == 1
    assert "85 mm" in err
