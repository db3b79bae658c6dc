"""From a study's criteria to findings, exhibits, figures and the parts of the report."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from halfcell.cache import decode, encode
from halfcell.choice.explanation import explain
from halfcell.errors import HalfcellError
from halfcell.finding import Finding, Findings
from halfcell.pipeline.bench import Bench
from halfcell.pipeline.decides import choice_of, decide
from halfcell.pipeline.decides.comparing import compared
from halfcell.pipeline.decides.tables import choice_json, comparison_json
from halfcell.pipeline.methods import METHODS
from halfcell.pipeline.outcome import Analysis
from halfcell.study import open_study
from halfcell.vocabulary import TERMS

HEAD = """\
format = 1
analyte = "nitrite"
reference_electrode = "Ag/AgCl, 3 M KCl"

[solutions.buffer]
description = "buffer"

[[choice.musts]]
finding = "response_class"
equals = "peak"

[[choice.musts]]
finding = "capacitance_ratio"
at_most = "4"
because = "the background hides small signals"

[[choice.wants]]
finding = "double_layer_capacitance"
aim = "minimise"
low = "0.02 mF/cm^2"
high = "200 uF/cm^2"
weight = 2

[[choice.wants]]
finding = "peak_current"
aim = "maximise"
low = "0 uA"
high = "40 uA"

[comparison]
margins = { peak_current = "20 %" }
"""
VALUES = {
    # material: capacitance, ratio, peak current
    "nickel": ((60, 64, 58, 61), (2.0, 2.1, 1.9, 2.05), (30, 31, 28, 30.5)),
    "ruthenium": ((64, 57, 66, 70), (2.4, 2.2, 2.3, 2.5), (27, 33, 25, 31)),
    "copper": ((150, 155, 149, 160), (5.5, 5.7, 5.2, 5.9), (36, 38, 37, 36)),
    "bare carbon": ((28, 29, 30, 28), (1.0, 1.0, 1.0, 1.0), (1, 1.2, 0.8, 1.1)),
}
NAMES = ("double_layer_capacitance", "capacitance_ratio", "peak_current")


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Bench:
    root = tmp_path_factory.mktemp("study")
    text = HEAD
    for material, rows in VALUES.items():
        for i in range(len(rows[0])):
            role = 'role = "bare"\n' if material == "bare carbon" else ""
            text += f'\n[electrodes."{material[:2]}-{i + 1}"]\nmaterial = "{material}"\n{role}area = "0.07 cm^2"\n'
    (root / "study.toml").write_text(text, "utf-8")
    (root / "data").mkdir()
    (root / "data" / "a.csv").write_text(
        "t/s,E/V,i/A\n" + "".join(f"{i},{i / 100},{i}e-6\n" for i in range(50)), "utf-8"
    )
    (root / "runs.csv").write_text(
        "file,electrode,technique,solution\ndata/a.csv,ni-1,linear sweep,buffer\n", "utf-8"
    )
    nothing: Any = None
    return Bench(study=open_study(root), crew=nothing)


@pytest.fixture(scope="module")
def findings(bench: Bench) -> Findings:
    rows = []
    for material, columns in VALUES.items():
        for name, values in zip(NAMES, columns, strict=True):
            for i, value in enumerate(values):
                rows.append(_row(name, f"{material[:2]}-{i + 1}", material, value))
        rows += [_row("response_class", f"{material[:2]}-{i + 1}", material, 0.999, "peak") for i in range(4)]
    attributes = {name: bench.study.attributes(name) for name in bench.study.file.electrodes}
    return Findings(tuple(rows), attributes)


def _row(name: str, electrode: str, group: str, value: float, text: str = "") -> Finding:
    return Finding(
        name=name, value=value, standard_uncertainty=abs(value) * 0.01, unit=TERMS[name].unit, electrode=electrode, group=group, text=text,
        recordings=(f"data/{electrode}.csv",), method="a method", source="a source",
    )  # fmt: skip


@pytest.fixture(scope="module")
def analysis(bench: Bench, findings: Findings) -> Analysis:
    decided = decide(bench, findings)
    return Analysis(
        study=bench.study, findings=findings.plus(decided.findings), exhibits=decided.exhibits, problems=decided.problems,
        comparisons=decided.comparisons, choice=decided.choice,
    )  # fmt: skip


def test_limits_come_in_the_findings_unit(analysis: Analysis) -> None:
    assert analysis.problems == ()
    assert analysis.choice is not None
    assert analysis.choice.criteria.wants[0].low == pytest.approx(20.0)
    assert analysis.choice.failed == ("copper",)
    assert "bare carbon" not in analysis.choice.candidates


def test_every_added_finding_has_its_term_and_method_and_a_key_of_its_own(analysis: Analysis) -> None:
    keys = [f.key for f in analysis.findings]
    assert len(keys) == len(set(keys))
    made = [f for f in analysis.findings if f.method in METHODS]
    assert {f.name for f in made} >= {
        "group_mean",
        "mean_difference",
        "mean_ratio",
        "difference_shown",
        "must_verdict",
        "must_margin",
        "desirability",
        "probability_best",
        "place",
    }
    for f in made:
        assert f.name in TERMS
        for key in f.settings["rests_on"]:
            assert key in keys, key
        assert f.value == f.value or f.text or f.notes


def test_every_number_of_the_explanation_is_a_finding(analysis: Analysis) -> None:
    keys = {f.key for f in analysis.findings}
    assert analysis.choice is not None
    for claim in explain(analysis.choice):
        for address in claim.findings:
            assert address in keys, claim


def test_what_if_reads_the_table_only(bench: Bench, findings: Findings) -> None:
    choice = choice_of(bench.study, findings, {"peak_current": 9.0}, 0.8)
    assert choice is not None
    assert choice.level == 0.8
    assert [w.weight for w in choice.criteria.wants] == [2.0, 9.0]
    with pytest.raises(HalfcellError, match="No want is about"):
        choice_of(bench.study, findings, {"colour": 1.0})


def test_equivalence_within_the_stated_margin(analysis: Analysis) -> None:
    c = next(c for c in analysis.comparisons if c.finding == "peak_current")
    pair = c.pair("nickel", "ruthenium")
    assert pair is not None
    assert pair.margin == pytest.approx(0.2 * (29.875 + 29.0) / 2)
    assert [g.name for g in c.apart] == ["bare, bare carbon"]


def test_a_person_compares_by_something_else(bench: Bench, findings: Findings) -> None:
    (c,) = compared(bench.study, findings, "peak_current", by="role", roles=("candidate", "bare"))
    assert [g.name for g in c.groups] == ["bare", "candidate"]
    assert c.pairs[0].different
    with pytest.raises(HalfcellError, match="No electrode has an attribute 'colour'"):
        compared(bench.study, findings, "peak_current", by="colour")
    with pytest.raises(HalfcellError, match="no finding 'peak_curent'"):
        compared(bench.study, findings, "peak_curent")


def test_exhibits_are_kept_and_drawn(analysis: Analysis, tmp_path: Path) -> None:
    from halfcell.report.figures import DRAWINGS
    from halfcell.report.figures.style import colours

    kinds = {e.kind for e in analysis.exhibits}
    assert {"comparison", "ranking"} <= kinds
    shades = colours(list(VALUES))
    for exhibit in analysis.exhibits:
        decode(encode(exhibit))
        figure = DRAWINGS[exhibit.kind](exhibit, shades)
        figure.savefig(tmp_path / "one.svg")
        labelled = [a for a in figure.axes if a.get_visible()]
        assert all(a.get_xlabel() or a.get_ylabel() for a in labelled)


def test_report_parts(analysis: Analysis) -> None:
    from halfcell.report.parts import PARTS

    chooses, compares = PARTS["chooses"](analysis), PARTS["compares"](analysis)
    assert [s.title for s in chooses.sections][:3] == ["Verdict", "Ranking", "Musts"]
    assert len(compares.sections) == 1 + len(analysis.comparisons)
    text = " ".join(getattr(b, "text", "") for s in chooses.sections for b in s.blocks)
    assert "Copper is eliminated" in text
    assert not re.search(r"\bnan\b|\binf\b", text)


def test_machine_formats_are_json(analysis: Analysis) -> None:
    assert analysis.choice is not None
    text = json.dumps(
        [choice_json(analysis.choice), *map(comparison_json, analysis.comparisons)], allow_nan=False
    )
    assert "explanation" in text


def test_bad_criteria_are_a_problem_and_no_crash(bench: Bench, findings: Findings) -> None:
    gone = Findings(
        tuple(f for f in findings if f.electrode.startswith("ba")),
        {k: v for k, v in findings.attributes.items() if v["role"] == "bare"},
    )
    decided = decide(bench, gone)
    assert decided.choice is None
    assert any("candidate" in p.what for p in decided.problems)
