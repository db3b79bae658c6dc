"""Peak currents of voltammograms and pulse records as points of calibrations."""

from __future__ import annotations

from typing import TYPE_CHECKING

from halfcell.pipeline.quantifies.points import Point
from halfcell.results import Measured
from halfcell.units import factor

if TYPE_CHECKING:
    from halfcell.finding import Findings
    from halfcell.pipeline.bench import Bench

_KIND = {
    "cyclic voltammogram": "voltammograms",
    "linear sweep": "voltammograms",
    "differential pulse": "pulses",
    "square wave": "pulses",
}


def gather_peaks(bench: Bench, findings: Findings) -> list[Point]:
    """Points from the findings "peak_current"; records of one scan rate on one electrode are one series."""
    by_file = {run.file: run for run in bench.study.runs}
    out = []
    for f in findings.named("peak_current"):
        runs = [by_file[name] for name in f.recordings if name in by_file]
        analyte = [r for r in runs if r.technique in _KIND and (r.concentration or 0) > 0]
        if not analyte or not f.electrode:
            continue
        run = analyte[0]
        scale = factor(f.unit, "A")
        rate = f"{run.scan_rate * 1e3:g} mV/s" if run.scan_rate else ""
        out.append(
            Point(
                electrode=f.electrode,
                kind=_KIND[run.technique],
                solution=run.solution,
                level=run.concentration or 0.0,
                u_level=0.0,
                current=Measured(
                    value=f.value * scale, u=f.standard_uncertainty * scale, df=f.degrees_of_freedom
                ),
                run=run,
                series=rate,
            )
        )
    return out
