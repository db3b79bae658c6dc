"""A small analysis made by hand: nothing in it is computed, so that only the report is tested."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from halfcell.errors import Problem
from halfcell.finding import Finding, Findings
from halfcell.pipeline.methods import METHODS, Method
from halfcell.pipeline.outcome import Analysis, Exhibit
from halfcell.study import open_study
from halfcell.vocabulary import TERMS, Term

HOSTILE = "<script>alert(1)</script> & \"quoted\" 'name'"

STUDY = """\
# Invented data, for trying things out.
format = 1
title = "Nitrite <at> four metals"
analyte = "nitrite"
reference_electrode = "Ag/AgCl, 3 M KCl"

[solutions.blank]
description = "0.1 mol/L phosphate, pH 7"
oxygen = "removed"

[electrodes.Ni-1]
material = "nickel"
area = "0.0707 cm^2"

[electrodes.Ni-2]
material = "nickel"
area = "0.0707 cm^2"

[electrodes.Ru-1]
material = "ruthenium"
area = "0.0707 cm^2"
"""

ADJUSTMENTS = """\
format = 1

[[adjustment]]
kind = "peak window"
file = "data/ni1.csv"
start = "0.7 V"
end = "0.95 V"
who = "A. Student"
when = "2026-05-04T14:30"
why = "the shoulder is not the peak"
"""

EXPORT = "Potential (mV),i(uA)\n" + "".join(
    f"{e},{0.1 + e / 500:.4f}\n" for e in [*range(0, 900, 10), *range(900, 0, -10)]
)


@pytest.fixture
def hostile() -> str:
    return HOSTILE


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    root = tmp_path / "study"
    (root / "data").mkdir(parents=True)
    (root / "study.toml").write_text(STUDY, "utf-8")
    (root / "adjustments.toml").write_text(ADJUSTMENTS, "utf-8")
    names = {"ni1": "Ni-1", "ni2": "Ni-2", "ru1": "Ru-1"}
    for name in names:
        (root / "data" / f"{name}.csv").write_text(EXPORT, "utf-8")
    rows = "".join(f"data/{f}.csv,{e},cyclic voltammogram,blank,1 mmol/L,50 mV/s\n" for f, e in names.items())
    (root / "runs.csv").write_text(
        "file,electrode,technique,solution,concentration,scan_rate\n" + rows, "utf-8"
    )
    return root


@pytest.fixture
def named(monkeypatch: pytest.MonkeyPatch) -> None:
    """Terms and a method of the test's own, so that it depends on no other part's names."""
    terms = (
        Term(
            name="test_slope",
            label="sensitivity",
            meaning="Slope.",
            unit="uA/(mmol/L)",
            si="A*m^3/mol",
            place="Quantifies",
        ),
        Term(name="test_class", label="kind of response", meaning="A word.", place="Responds", word=True),
        Term(name="test_size", label="particle diameter", meaning="Size.", unit="nm", si="m", place="Made"),
        Term(
            name="test_false",
            label="false nitrite",
            meaning="Mistaken for it.",
            unit="umol/L",
            si="mol/m^3",
            place="Confounds",
        ),
    )
    for term in terms:
        monkeypatch.setitem(TERMS, term.name, term)
    method = Method(
        name="test line",
        formula="i = a + b c",
        source="A textbook, page 1",
        sentence="Sensitivities were slopes of straight lines.",
    )
    monkeypatch.setitem(METHODS, method.name, method)


def finding(name: str, value: float, u: float, electrode: str, unit: str = "1", **more: Any) -> Finding:
    usual = {
        "group": {"N": "nickel", "R": "ruthenium"}.get(electrode[:1], ""),
        "recordings": (f"data/{electrode.replace('-', '').lower()}.csv",) if electrode else (),
        "method": "test line",
        "source": "A textbook, page 1",
        "settings": {"points": 5, "window": 0.05},
    }
    return Finding(
        name=name, value=value, standard_uncertainty=u, electrode=electrode, unit=unit, **(usual | more)
    )


@pytest.fixture
def analysis(folder: Path, named: None) -> Analysis:
    study = open_study(folder)
    rows = [
        finding("test_slope", 12.345, 0.4, "Ni-1", "uA/(mmol/L)", degrees_of_freedom=3.0),
        finding("test_slope", 9.1, 0.04, "Ni-2", "uA/(mmol/L)", degrees_of_freedom=3.0),
        finding(
            "test_slope",
            101.0,
            12.0,
            "Ru-1",
            "uA/(mmol/L)",
            degrees_of_freedom=3.0,
            notes=("The blank drifted.",),
        ),
        finding("test_class", 0.97, float("nan"), "Ni-1", text="peak"),
        finding("test_class", 1.0, float("nan"), "Ru-1", text=HOSTILE),
        finding("test_size", 57.0, 1.2, "Ni-1", "nm"),
        finding("test_false", 8.1, 0.6, "Ni-1", "umol/L", condition="oxygen"),
        finding("test_false", 3.1, 0.6, "Ni-1", "umol/L", condition="nitrate"),
        finding(
            "test_slope",
            10.7,
            1.6,
            "",
            "uA/(mmol/L)",
            group="nickel",
            method="unheard of",
            source="common practice, no source",
        ),
    ]
    data = {"potential": np.linspace(0, 1, 200), "current": np.sin(np.linspace(0, 6, 200)) * 1e-6}
    exhibits = tuple(
        Exhibit(
            kind="test_curve",
            key=f"curve {e}",
            title=f"Voltammogram of {e}",
            place="Responds",
            electrode=e,
            group=g,
            data=data,
        )
        for e, g in (("Ni-1", "nickel"), ("Ni-2", "nickel"), ("Ru-1", "ruthenium"))
    )
    attributes = {name: study.attributes(name) for name in study.file.electrodes}
    files = {run.file: hashlib.sha256((folder / run.file).read_bytes()).hexdigest() for run in study.runs}
    return Analysis(
        study=study,
        findings=Findings(tuple(rows), attributes),
        exhibits=exhibits,
        problems=(Problem(file="data/ni2.csv", what="No peak was found.", severity="warning"),),
        files=files,
    )


def draw_curve(exhibit: Exhibit, colours: dict[str, str]) -> Any:
    from halfcell.report.figures.style import axes

    figure, (ax,) = axes()
    ax.plot(
        exhibit.data["potential"],
        exhibit.data["current"] * 1e6,
        color=colours[exhibit.group],
        marker="o",
        markevery=20,
    )
    ax.set(xlabel="E / V", ylabel="i / µA", title=exhibit.title)
    return figure


@pytest.fixture(autouse=True)
def _usual_parts(monkeypatch: pytest.MonkeyPatch) -> None:
    """The report around the parts is tested with the usual part of each place, not with each place's own."""
    from halfcell.report import content

    places = {"made", "responds", "quantifies", "confounds"}
    monkeypatch.setattr(
        content, "PARTS", {name: content.PARTS[name] for name in content.PARTS if name not in places}
    )


@pytest.fixture
def drawing(monkeypatch: pytest.MonkeyPatch) -> None:
    """The kind of exhibit of the fixture has a drawing, and every place its usual part."""
    import halfcell.report.figures as figures
    from halfcell.report import content

    monkeypatch.setattr(content, "PARTS", {})

    monkeypatch.setattr(figures, "DRAWINGS", {"test_curve": draw_curve})


@pytest.fixture
def changed(analysis: Analysis) -> Callable[..., Analysis]:
    return lambda **fields: replace(analysis, **fields)
