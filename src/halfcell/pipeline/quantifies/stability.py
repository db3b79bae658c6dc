"""Repeated readings, and what is left of the signal after use and in storage."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.errors import MethodError
from halfcell.pipeline.quantifies.points import Point, is_clean, rejection
from halfcell.results import Measured
from halfcell.statistics.linear import fit_linear
from halfcell.statistics.noncentral import sd_interval, symmetric_u
from halfcell.statistics.ratios import Ratio, ratio

if TYPE_CHECKING:
    from halfcell.finding import Finding
    from halfcell.pipeline.bench import Bench
    from halfcell.pipeline.quantifies.lines import Fitted


def stability_findings(bench: Bench, points: Iterable[Point], main: Sequence[Fitted]) -> list[Finding]:
    """Repeatability of each main calibration's electrode, and retention after exposure and storage."""
    usable = [
        p
        for p in points
        if not p.run.sample and not rejection(bench, p) and is_clean(bench.study.solution(p.run))
    ]
    out = []
    for f in main:
        own = [p for p in usable if p.electrode == f.electrode and p.kind == f.kind]
        out += _repeatability(bench, f, [p for p in own if not p.run.exposure and not p.run.age])
        out += _retention(bench, f, own, "exposure", "retention")
        out += _retention(bench, f, own, "age", "storage_retention")
    return out


def _repeatability(bench: Bench, f: Fitted, own: list[Point]) -> list[Finding]:
    base = f.calibration.line.intercept.value
    total, df, runs, means = 0.0, 0, [], []
    for level in sorted({p.level for p in own if p.level > 0}):
        chosen = [p for p in own if p.level == level]
        if len(chosen) < 2:
            continue
        values = np.array([p.current.value - base for p in chosen])
        if values.mean() == 0:
            continue
        total += float(np.sum((values / values.mean() - 1) ** 2))
        df += len(chosen) - 1
        means.append(level)
        runs += [p.run for p in chosen]
    if df == 0 or total == 0:
        return []
    sd = math.sqrt(total / df)
    shown = sd_interval(sd, df, level=bench.confidence)
    settings = {
        "levels": len(means),
        "interval low": shown.low * 100,
        "interval high": shown.high * 100,
        "level": shown.level,
    }
    value = Measured(value=sd, u=symmetric_u(sd, shown, df), df=df)
    return [
        bench.finding(
            "repeatability",
            value,
            method="repeatability",
            electrode=f.electrode,
            runs=tuple(runs),
            settings=settings,
        )
    ]


def _retention(bench: Bench, f: Fitted, own: list[Point], which: str, name: str) -> list[Finding]:
    other = "age" if which == "exposure" else "exposure"
    out = []
    for time in sorted(
        {getattr(p.run, which) for p in own if getattr(p.run, which) and not getattr(p.run, other)}
    ):
        after = [p for p in own if getattr(p.run, which) == time and not getattr(p.run, other)]
        before = list(f.points)
        try:
            found, how = _ratio_of_responses(before, after, bench.confidence)
        except MethodError:
            continue
        interval = found.interval
        settings: dict[str, Any] = {
            "interval low": interval.low * 100,
            "interval high": interval.high * 100,
            "level": interval.level,
            "by": how,
        }
        runs = tuple({p.run.file: p.run for p in (*before, *after)}.values())
        out.append(
            bench.finding(
                name,
                found.ratio,
                method="retention",
                electrode=f.electrode,
                condition=f"after {_spoken(time)}",
                runs=runs,
                settings=settings,
            )
        )
    return out


def _ratio_of_responses(before: Sequence[Point], after: Sequence[Point], level: float) -> tuple[Ratio, str]:
    """Slope after over slope before in one model with a common background and pooled scatter."""
    x = np.array([p.level for p in (*before, *after)])
    y = np.array([p.current.value for p in (*before, *after)])
    late = np.array([0.0] * len(before) + [1.0] * len(after))
    levels = np.unique(x[late > 0])
    if levels.size == 1 and levels[0] == 0:
        raise MethodError("There is no analyte in the records after.")
    own_background = levels.size >= 2
    columns = (
        [1 - late, x * (1 - late), x * late, late]
        if own_background
        else [np.ones(x.size), x * (1 - late), x * late]
    )
    fit = fit_linear(np.column_stack(columns), y)
    found = ratio(fit.coefficient(2), fit.coefficient(1), covariance=float(fit.covariance[1, 2]), level=level)
    return (
        found,
        "slopes, each with its own background" if own_background else "slopes with a common background",
    )


def _spoken(seconds: float) -> str:
    for size, word in ((86400, "d"), (3600, "h"), (60, "min")):
        if seconds >= size and abs(seconds / size - round(seconds / size, 2)) < 1e-9:
            return f"{seconds / size:g} {word}"
    return f"{seconds:g} s"
