"""compare and choose as a person meets them, on findings made here."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from choice.known_truth import study
from halfcell.cli import main
from halfcell.finding import Findings
from halfcell.pipeline.outcome import Analysis, Exhibit

TRUTH = {
    "nickel": {
        "sensitivity": (30.0, 1.0),
        "limit_of_detection": (2.0, 0.1),
        "false_concentration @ oxygen": (2.0, 1.0),
    },
    "ruthenium": {
        "sensitivity": (15.0, 1.0),
        "limit_of_detection": (4.0, 0.2),
        "false_concentration @ oxygen": (5.0, 1.0),
    },
    "copper": {
        "sensitivity": (38.0, 1.0),
        "limit_of_detection": (1.0, 0.1),
        "false_concentration @ oxygen": (120.0, 5.0),
    },
}
CRITERIA = """
[[choice.musts]]
finding = "false_concentration"
condition = "oxygen"
at_most = "20 umol/L"

[[choice.wants]]
finding = "sensitivity"
aim = "maximise"
low = "0 uA/(mmol/L)"
high = "40 uA/(mmol/L)"

[[choice.wants]]
finding = "limit_of_detection"
aim = "minimise"
low = "0 umol/L"
high = "10 umol/L"
"""


def _folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, criteria: str) -> Path:
    table = study(TRUTH)
    text = (
        'format = 1\nanalyte = "nitrite"\nreference_electrode = "Ag/AgCl"\n[solutions.buffer]\ndescription = "buffer"\n'
        + criteria
    )
    for name, known in table.attributes.items():
        text += f'\n[electrodes."{name}"]\nmaterial = "{known["material"]}"\narea = "0.07 cm^2"\nattributes = {{ half = "{name[-1] in "12"}" }}\n'
    (tmp_path / "data").mkdir()
    (tmp_path / "data" / "a.csv").write_text(
        "t/s,E/V,i/A\n" + "".join(f"{i},{i / 100},{i}e-6\n" for i in range(50)), "utf-8"
    )
    (tmp_path / "runs.csv").write_text(
        "file,electrode,technique,solution\ndata/a.csv,nickel-1,linear sweep,buffer\n", "utf-8"
    )
    (tmp_path / "study.toml").write_text(text, "utf-8")

    def analyze(folder: Path, *, cores: int | None = None, progress: Any = None, **_: Any) -> Analysis:
        from halfcell.pipeline.bench import Bench
        from halfcell.pipeline.decides import decide
        from halfcell.study import open_study

        opened = open_study(folder)
        findings = Findings(table.rows, {name: opened.attributes(name) for name in opened.file.electrodes})
        nothing: Any = None
        points = _calibrations(findings)
        decided = decide(Bench(study=opened, crew=nothing), findings, points)
        return Analysis(
            study=opened,
            findings=findings.plus(decided.findings),
            exhibits=points + decided.exhibits,
            problems=decided.problems,
            comparisons=decided.comparisons,
            choice=decided.choice,
        )

    monkeypatch.setattr("halfcell.pipeline.analyze", analyze)
    return tmp_path


def _calibrations(findings: Findings) -> tuple[Exhibit, ...]:
    """Cathodic points of each electrode's sensitivity (uA per mmol/L), the last one set aside."""
    x = np.array([0.0, 0.5, 1.0, 2.0, 4.0])
    wiggle = np.array([0.1, -0.2, 0.15, -0.05, 90.0])
    return tuple(
        Exhibit(
            kind="calibration",
            key=f"calibration {f.electrode}",
            title=f.electrode,
            place="Quantifies",
            electrode=f.electrode,
            data={"x": x, "y": -1e-6 * (f.value * x + wiggle), "used": x < 4, "direction": -1, "main": True},
        )
        for f in findings.named("sensitivity")
        if f.electrode
    )


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    return _folder(tmp_path, monkeypatch, CRITERIA)


def _run(*arguments: str) -> int:
    with pytest.raises(SystemExit) as ended:
        main(list(arguments))
    return int(ended.value.code or 0)


def test_choose(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert _run("choose", str(folder)) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "Nickel goes forward" in out
    assert "Copper is eliminated" in out
    assert "failed" in out


def test_choose_for_machines_with_another_weight(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert _run("choose", str(folder), "--json", "--weight", "sensitivity=3", "--confidence", "0.9") == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["format"], found["leader"], found["confidence"]) == (1, "nickel", 0.9)
    assert [w["weight"] for w in found["weights"]] == [3.0, 1.0]


@pytest.mark.parametrize("weight", ["sensitivity", "sensitivity=much", "sensitivity=-1", "=2"])
def test_a_weight_written_wrongly(folder: Path, weight: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert _run("choose", str(folder), "--weight", weight) == 2
    assert "finding=2" in capsys.readouterr().err


def test_choose_with_another_limit(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert _run("choose", str(folder), "--json", "--limit", "false_concentration=0.5 mmol/L") == 0
    assert json.loads(capsys.readouterr().out)["leader"] == "copper"
    assert _run("choose", str(folder), "--limit", "sensitivity=3 uA/(mmol/L)") == 1
    assert "has 0 limits" in capsys.readouterr().err
    assert _run("choose", str(folder), "--limit", "false_concentration=20 V") == 1
    assert "umol/L" in capsys.readouterr().err
    assert _run("choose", str(folder), "--limit", "false_concentration") == 2


def test_a_weight_of_something_not_wanted(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert _run("choose", str(folder), "--weight", "colour=2") == 1
    assert "No want is about 'colour'" in capsys.readouterr().err


def test_no_criteria(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert _run("choose", str(_folder(tmp_path, monkeypatch, ""))) == 1
    assert "[[choice.musts]]" in capsys.readouterr().err


def test_compare_all_and_one(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert _run("compare", str(folder)) == 0
    assert "Limit of detection by material" in capsys.readouterr().out
    assert _run("compare", str(folder), "sensitivity", "--margin", "5 %", "--json") == 0
    (found,) = json.loads(capsys.readouterr().out)["comparisons"]
    assert [g["name"] for g in found["groups"]] == ["copper", "nickel", "ruthenium"]
    assert all(p["different"] for p in found["pairs"])


def test_the_interaction_stands_among_the_alternatives(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for arguments in (("sensitivity",), ()):
        assert _run("compare", str(folder), *arguments, "--json") == 0
        for made in json.loads(capsys.readouterr().out)["comparisons"]:
            own = [a for a in made["alternatives"] if a["method"].startswith("Interaction of slope")]
            assert len(own) == (made["finding"] == "sensitivity")
            assert not any(a["also_different"] or a["not_shown"] or not a["able"] for a in own)
            assert not made["method"].startswith("Interaction")
    assert _run("compare", str(folder), "sensitivity") == 0
    assert "Interaction" in capsys.readouterr().out


def test_compare_by_several_attributes(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert _run("compare", str(folder), "sensitivity", "--by", "material", "--by", "half", "--json") == 0
    found = json.loads(capsys.readouterr().out)["factors"]
    assert [e["effect"] for e in found["effects"]] == ["material", "half", "material × half"]
    assert found["effects"][0]["p"] < 1e-6 < found["effects"][1]["p"]
    assert _run("compare", str(folder), "sensitivity", "--by", "material", "--by", "half") == 0
    assert "material × half" in capsys.readouterr().out


def test_compare_by_what_nobody_states(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert _run("compare", str(folder), "sensitivity", "--by", "colour") == 1
    assert "No electrode has an attribute 'colour'" in capsys.readouterr().err
    assert _run("compare", str(folder), "--by", "half") == 2
