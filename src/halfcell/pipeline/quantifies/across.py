"""A group's electrodes together: mean sensitivity, scatter between them, response times."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from halfcell.calibration.across import across_electrodes
from halfcell.errors import MethodError
from halfcell.results import Measured, unknown

if TYPE_CHECKING:
    from halfcell.finding import Finding
    from halfcell.pipeline.bench import Bench
    from halfcell.pipeline.quantifies.lines import Fitted


def group_findings(bench: Bench, main: Sequence[Fitted]) -> list[Finding]:
    """Mean sensitivity and scatter between the electrodes of each group."""
    out = []
    groups: dict[str, list[Fitted]] = {}
    for f in main:
        groups.setdefault(bench.study.group(f.electrode), []).append(f)
    for group, members in groups.items():
        runs = tuple(run for f in members for run in f.runs)
        slopes = [f.calibration.line.slope.times(f.direction) for f in members]
        if len({f.kind for f in members}) > 1 or len(members) < 2:
            continue
        try:
            found = across_electrodes(slopes, level=bench.confidence)
        except MethodError:
            continue
        settings = {"electrodes": len(members), "interval low": found.rsd_interval.low * 100, "interval high": found.rsd_interval.high * 100}
        out.append(bench.finding("mean_sensitivity", found.mean, method="mean of electrodes", group=group, runs=runs, settings=settings))
        out.append(bench.finding("between_electrode_rsd", found.rsd, method="between electrodes", group=group, runs=runs, settings=settings))
    return out


def response_time(times: Sequence[Measured]) -> Measured:
    """Mean of the t90 of single steps; its uncertainty is their scatter."""
    values = np.array([m.value for m in times if math.isfinite(m.value)])
    if values.size == 0:
        return unknown(times[0].why if times else "no addition was seen")
    if values.size == 1:
        one = next(m for m in times if math.isfinite(m.value))
        return Measured(value=one.value, u=one.u, df=one.df, why="from a single step")
    middle = float(np.median(values))
    mad = 1.4826 * float(np.median(np.abs(values - middle)))
    kept = values[np.abs(values - middle) <= max(4 * mad, 1e-9)] if mad > 0 else values
    if kept.size < 2:
        kept = values
    return Measured(value=float(kept.mean()), u=float(kept.std(ddof=1)) / math.sqrt(kept.size), df=kept.size - 1)
