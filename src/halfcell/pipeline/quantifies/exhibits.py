"""Calibrations as exhibits: one electrode, one group, and the limits by definition."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from halfcell.calibration.curve import band
from halfcell.calibration.limits import NEEDS
from halfcell.pipeline.outcome import Exhibit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from halfcell.pipeline.bench import Bench
    from halfcell.pipeline.quantifies.lines import Fitted


def exhibit(bench: Bench, f: Fitted) -> Exhibit:
    """Points, line, bands and residuals."""
    c = f.calibration
    x = np.linspace(0.0, float(c.x.max()) * 1.03, 80)
    value, confidence, prediction = band(c, x)
    return Exhibit(
        kind="calibration",
        key=f"calibration {f.electrode} {f.kind} {f.series} {f.solution}",
        title=f"{f.electrode}: calibration from {f.kind}",
        place="Quantifies",
        electrode=f.electrode,
        group=bench.study.group(f.electrode),
        condition=f.condition,
        recordings=tuple(run.file for run in f.runs),
        data={
            "x": np.asarray(c.x),
            "y": np.asarray(c.y),
            "u": np.array([p.current.u for p in f.points]),
            "used": np.asarray(c.used),
            "files": [p.run.file for p in f.points],
            "rejected_x": np.array([p.level for p in f.rejected]),
            "rejected_y": np.array([p.current.value for p in f.rejected]),
            "rejected_files": [p.run.file for p in f.rejected],
            "rejected_why": [p.rejected for p in f.rejected],
            "line_x": x,
            "line": value,
            "confidence": confidence,
            "prediction": prediction,
            "residual_x": np.asarray(c.line.x),
            "residual": np.asarray(c.line.residuals),
            "standardised": np.asarray(c.line.standardised),
            "slope": c.line.slope.value,
            "u_slope": c.line.slope.u,
            "level": c.level,
            "main": f.main,
            "direction": f.direction,
            "kind": f.kind,
            "units": {"x": "mol/m^3", "y": "A"},
        },
    )


def limits_exhibit(bench: Bench, f: Fitted) -> Exhibit | None:
    """Every limit of a calibration side by side; None where there is none."""
    found = f.calibration.limits
    if found is None:
        return None
    return Exhibit(
        kind="detection limits",
        key=f"detection limits {f.electrode}",
        title=f"{f.electrode}: limits by definition",
        place="Quantifies",
        electrode=f.electrode,
        group=bench.study.group(f.electrode),
        recordings=tuple(run.file for run in f.runs),
        data={
            "definition": [r.definition for r in found.rows],
            "kind": [r.kind for r in found.rows],
            "value": np.array([r.value.value for r in found.rows]),
            "low": np.array([r.interval.low for r in found.rows]),
            "high": np.array([r.interval.high for r in found.rows]),
            "fails": [", ".join(NEEDS[n] for n in r.fails) for r in found.rows],
            "missing": dict(found.missing),
            "units": {"value": "mol/m^3"},
        },
    )


def group_exhibit(bench: Bench, group: str, members: Sequence[Fitted]) -> Exhibit:
    """The main calibrations of a group's electrodes together."""
    each = [{**exhibit(bench, f).data, "electrode": f.electrode} for f in members]
    return Exhibit(
        kind="calibrations",
        key=f"calibrations {group}",
        title=f"{group}: calibration from {' and '.join(dict.fromkeys(f.kind for f in members))}",
        place="Quantifies",
        group=group,
        recordings=tuple(dict.fromkeys(run.file for f in members for run in f.runs)),
        data={"electrodes": each, "units": {"x": "mol/m^3", "y": "A"}},
    )
