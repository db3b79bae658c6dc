"""A group's electrodes together: mean sensitivity, scatter between them, response times."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from halfcell.calibration.across import across_electrodes
from halfcell.errors import MethodError
from halfcell.pipeline.quantifies.standardised import shared, with_stock
from halfcell.results import Measured, unknown
from halfcell.statistics.mixed import random_slopes
from halfcell.statistics.variance_components import nested

if TYPE_CHECKING:
    from halfcell.finding import Finding
    from halfcell.pipeline.bench import Bench
    from halfcell.pipeline.quantifies.lines import Fitted
    from halfcell.study.model import Run


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
        settings = {
            "electrodes": len(members),
            "interval low": found.rsd_interval.low * 100,
            "interval high": found.rsd_interval.high * 100,
        }
        out.append(
            bench.finding(
                "mean_sensitivity",
                with_stock(found.mean, shared(bench, members[0].kind)),
                method="mean of electrodes",
                group=group,
                runs=runs,
                settings=settings,
            )
        )
        out += _mixed(bench, group, members, runs)
        out += _batches(bench, group, members, runs)
        out.append(
            bench.finding(
                "between_electrode_rsd",
                found.rsd,
                method="between electrodes",
                group=group,
                runs=runs,
                settings=settings,
            )
        )
    return out


def _mixed(bench: Bench, group: str, members: Sequence[Fitted], runs: tuple[Run, ...]) -> list[Finding]:
    lines = [f.calibration.line for f in members]
    who = [f.electrode for f in members for _ in f.calibration.line.x]
    try:
        found = random_slopes(
            np.concatenate([line.x for line in lines]), np.concatenate([line.y for line in lines]), who
        )
    except MethodError:
        return []
    settings = {
        "electrodes": found.subjects,
        "points": found.n,
        "sd of slopes / uA/(mmol/L)": found.sd_slope * 1e6,
        "sd of intercepts / uA": found.sd_intercept * 1e6,
        "residual sd / uA": found.residual_sd * 1e6,
    }
    return [
        bench.finding(
            "mixed_sensitivity",
            with_stock(found.slope.times(members[0].direction), shared(bench, members[0].kind)),
            method="mixed model",
            group=group,
            runs=runs,
            settings=settings,
        )
    ]


def _batches(bench: Bench, group: str, members: Sequence[Fitted], runs: tuple[Run, ...]) -> list[Finding]:
    named = [(f, bench.study.electrode(f.electrode).batch) for f in members]
    named = [(f, batch) for f, batch in named if batch]
    slopes = [f.calibration.line.slope.times(f.direction) for f, _ in named]
    try:
        noise_df = int(sum(s.df for s in slopes))
        found = nested(
            [s.value for s in slopes],
            [batch for _, batch in named],
            noise=float(np.mean([s.u**2 for s in slopes])) if slopes else 0.0,
            noise_df=noise_df,
            level=bench.confidence,
        )
    except MethodError:
        return []
    mean = abs(found.mean)
    settings = {
        "batches": len({b for _, b in named}),
        "interval low": found.batches.interval.low / mean * 100,
        "interval high": found.batches.interval.high / mean * 100,
        "inside batches / percent": found.inside.sd / mean * 100,
    }
    value = Measured(
        value=found.batches.sd / mean,
        df=found.batches.df,
        why="its interval is not symmetric; both ends stand in the settings",
    )
    return [
        bench.finding(
            "between_batch_rsd", value, method="between batches", group=group, runs=runs, settings=settings
        )
    ]


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
    return Measured(
        value=float(kept.mean()), u=float(kept.std(ddof=1)) / math.sqrt(kept.size), df=kept.size - 1
    )
