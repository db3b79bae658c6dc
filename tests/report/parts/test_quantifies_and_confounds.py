from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from halfcell.finding import Finding, Findings
from halfcell.pipeline.outcome import Analysis, Exhibit
from halfcell.report.blocks import Picture, Table, Text
from halfcell.report.figures import DRAWINGS
from halfcell.report.parts.confounds import part as confounds_part
from halfcell.report.parts.quantifies import part as quantifies_part
from halfcell.study.model import Confounder, StudyFile
from halfcell.study.study import Study

X = np.linspace(0, 0.2, 6)
CURVE = {
    "x": X, "y": 20e-6 * X, "u": np.full(6, 1e-9), "used": np.array([1.0] * 5 + [0.0]), "rejected_x": np.array([0.1]), "rejected_y": np.array([0.0]),
    "line_x": X, "line": 20e-6 * X, "confidence": np.full(6, 1e-8), "prediction": np.full(6, 3e-8), "residual_x": X, "residual": np.full(6, 1e-9),
    "standardised": np.ones(6), "slope": 2e-5, "u_slope": 1e-8, "level": 0.95, "main": True, "kind": "additions",
}  # fmt: skip
EXHIBITS = {
    "calibration": CURVE,
    "calibrations": {"electrodes": [{**CURVE, "electrode": "Ni-1"}, {**CURVE, "electrode": "Ni-2"}]},
    "additions trace": {
        "time": np.arange(100.0), "current": np.ones(100) * 1e-6, "additions": np.array([30.0]), "unlogged": np.array([60.0]), "unseen": [],
        "plateau_start": np.array([10.0, 60]), "plateau_end": np.array([29.0, 99]), "plateau": np.array([1e-6, 1e-6]), "levels": np.array([0, 0.1]),
    },
    "sampled steps": {
        "time": np.linspace(0.1, 10, 100), "current": 1e-6 / np.sqrt(np.linspace(0.1, 10, 100)), "window": [5.0, 10.0], "level": 0.1, "sampled": 4e-7,
        "line_start": 0.1, "line_end": 10.0, "line_slope": 1e-6, "line_intercept": 0.0, "straight": True, "each": np.array([4e-7]),
    },
    "detection limits": {
        "definition": ["ICH Q2, residuals", "ISO 11843-2"], "kind": ["detection", "decision"], "value": np.array([1e-3, 2e-3]),
        "low": np.array([5e-4, 1e-3]), "high": np.array([np.inf, 4e-3]), "fails": ["", "the scatter is normal"], "missing": {},
    },
    "confounder": {
        "x": np.tile(X, 2), "y": np.tile(20e-6 * X, 2), "present": np.repeat([0.0, 1.0], 6), "base": 0.0, "slope": 2e-5, "signal": 1e-6,
        "slope_with": 2e-5, "equivalent": 0.05, "low": 0.04, "high": 0.06,
    },
}  # fmt: skip


def _finding(name: str, value: float, **more: object) -> Finding:
    return Finding(
        name=name,
        value=value,
        standard_uncertainty=0.1,
        electrode="Ni-1",
        group="nickel",
        method="m",
        source="s",
        **more,
    )  # type: ignore[arg-type]


def _analysis(
    *findings: Finding, confounders: dict[str, Confounder] | None = None, tmp_path=None
) -> Analysis:
    file = StudyFile(
        format=1, analyte="nitrite", reference_electrode="Ag/AgCl", confounders=confounders or {}
    )
    shown = tuple(
        Exhibit(kind=kind, key=kind, title=kind, place="Confounds" if kind == "confounder" else "Quantifies", electrode="Ni-1", group="nickel",
                condition="oxygen" if kind == "confounder" else "", data=data)
        for kind, data in EXHIBITS.items()
    )  # fmt: skip
    return Analysis(
        study=Study(folder=tmp_path, file=file, runs=()),
        findings=Findings(findings),
        exhibits=shown,
        problems=(),
    )


@pytest.mark.parametrize("kind", EXHIBITS)
def test_every_figure_has_labels_with_units(kind: str, tmp_path) -> None:
    exhibit = next(e for e in _analysis(tmp_path=tmp_path).exhibits if e.kind == kind)
    figure = DRAWINGS[kind](exhibit, {"nickel": "#0072B2"})
    labels = [ax.get_xlabel() for ax in figure.axes] + [ax.get_ylabel() for ax in figure.axes]
    assert any("/" in text for text in labels)
    figure.savefig(tmp_path / "figure.svg")


def test_the_part_quantifies(tmp_path) -> None:
    rows = [
        _finding("sensitivity", 45.6, unit="uA/(mmol/L)", settings={"records": "additions"}),
        _finding("limit_of_detection", 0.9, unit="umol/L"),
        _finding(
            "detection_limit",
            0.9,
            unit="umol/L",
            condition="ISO 11843-2",
            settings={"interval low": 0.5, "interval high": 2.0, "level": 0.95, "fails": ["x"]},
        ),
        _finding("content", 12.0, unit="umol/L", condition="pond 3"),
        replace(
            _finding(
                "between_electrode_rsd",
                5.0,
                unit="percent",
                settings={"interval low": 2.0, "interval high": 20.0, "electrodes": 3},
            ),
            electrode="",
        ),
    ]
    made = quantifies_part(_analysis(*rows, tmp_path=tmp_path))
    blocks = [b for s in made.sections for b in s.blocks]
    assert [s.title for s in made.sections] == ["Calibrations", "Limits", "Precision", "Samples", "Records"]
    assert any("from additions" in b.text for b in blocks if isinstance(b, Text))
    assert sum(isinstance(b, Picture) for b in blocks) == 5
    text = " ".join(cell for b in blocks if isinstance(b, Table) for row in b.rows for cell in row)
    assert "0.500 … 2.00" in text


def test_without_records_it_says_so(tmp_path) -> None:
    made = quantifies_part(_analysis(tmp_path=tmp_path))
    first = made.sections[0].blocks[0]
    assert isinstance(first, Text)
    assert "No calibration could be made" in first.text


def test_the_part_confounds(tmp_path) -> None:
    oxygen = {"oxygen": Confounder.model_construct(level=0.258, made_from_analyte=False)}
    rows = [
        _finding(
            "false_concentration",
            151.0,
            unit="umol/L",
            condition="oxygen",
            settings={"interval low": 148.0, "interval high": 154.0},
        ),
        _finding("told_apart", float("nan"), text="no", condition="oxygen", notes=("the slope changes",)),
    ]
    made = confounds_part(_analysis(*rows, confounders=oxygen, tmp_path=tmp_path))
    assert made.sections[0].title == "Oxygen at 258 µM"
    cautions = [b.text for b in made.sections[0].blocks if isinstance(b, Text) and b.tone == "caution"]
    assert cautions == ["Ni-1: no: the slope changes."]
    none = confounds_part(_analysis(tmp_path=tmp_path))
    assert "names no confounders" in none.sections[0].blocks[0].text  # type: ignore[union-attr]


def test_the_limits_of_every_definition_stand_side_by_side(tmp_path) -> None:
    rows = [
        _finding("detection_limit", 5.14, condition="ICH Q2, residuals", settings={"fails": ("the scatter is normal",)}),
        _finding("decision_limit", 3.3, condition="ISO 11843-2", settings={"fails": ()}),
        replace(_finding("decision_limit", 2.2, condition="ISO 11843-2", settings={"fails": ()}), electrode="Ni-2"),
    ]  # fmt: skip
    made = quantifies_part(_analysis(*rows, tmp_path=tmp_path))
    tables = [b for s in made.sections for b in s.blocks if isinstance(b, Table)]
    (matrix,) = (t for t in tables if t.title == "Every definition side by side")
    assert len(matrix.head) == 3
    assert [row[0] for row in matrix.rows] == ["Ni-1", "Ni-2"]
    assert matrix.rows[0][1] == "5.14 *"
    assert float(matrix.rows[0][2]) == 3.3
    assert matrix.rows[1][1] == "–"
