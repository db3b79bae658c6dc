"""Samples: contents from the main calibration, recovery of spikes, and standard additions."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.calibration.standard_addition import StandardAddition, standard_addition
from halfcell.calibration.unknowns import Content, read_content, recovery
from halfcell.errors import MethodError, Problem
from halfcell.pipeline.quantifies.points import Point, rejection
from halfcell.pipeline.quantifies.standardised import shared as shared_stock
from halfcell.pipeline.quantifies.standardised import widened, with_stock
from halfcell.results import Measured

if TYPE_CHECKING:
    from halfcell.finding import Finding
    from halfcell.pipeline.bench import Bench
    from halfcell.pipeline.quantifies.lines import Fitted


def sample_findings(
    bench: Bench, points: Iterable[Point], main: Sequence[Fitted], problems: list[Problem]
) -> list[Finding]:
    """Everything said of samples; what cannot be read becomes a problem."""
    lines = {f.electrode: f for f in main}
    groups: dict[tuple[str, str, str], list[Point]] = {}
    for point in points:
        if point.run.sample and not rejection(bench, point):
            groups.setdefault((point.electrode, point.kind, point.run.sample), []).append(point)
    out = []
    for (electrode, kind, sample), members in groups.items():
        fitted = lines.get(electrode)
        place = f"sample {sample} on {electrode}"
        try:
            if fitted is not None and fitted.kind == kind:
                out += _read(bench, fitted, sample, members)
            else:
                what = f"{electrode} has no main calibration from {kind} to read it with."
                problems.append(Problem(file=members[0].run.file, place=place, what=what, severity="warning"))
        except MethodError as error:
            problems.append(
                Problem(file=members[0].run.file, place=place, what=str(error), severity="warning")
            )
        try:
            out += _added(bench, fitted, electrode, sample, members)
        except MethodError as error:
            problems.append(
                Problem(
                    file=members[0].run.file,
                    place=f"{place}, standard addition",
                    what=str(error),
                    severity="warning",
                )
            )
    return out


def _level(point: Point) -> float:
    """What was added to the sample: by the spike of its run, or by the record's own additions."""
    return (point.run.spike or 0.0) + (point.level if point.kind == "additions" else 0.0)


def _read(bench: Bench, fitted: Fitted, sample: str, members: list[Point]) -> list[Finding]:
    limits = fitted.calibration.limits
    decision = limits.named("ISO 11843-2", "decision").value.value if limits is not None else math.nan
    found: dict[float, tuple[Content, list[Point]]] = {}
    for level in sorted({_level(p) for p in members}):
        chosen = [p for p in members if _level(p) == level]
        signals = [p.current.value for p in chosen]
        try:
            found[level] = (
                read_content(
                    fitted.calibration.line, signals, decision_limit=decision, level=bench.confidence
                ),
                chosen,
            )
        except MethodError:
            if level == 0:
                raise
    out = []
    stock = shared_stock(bench, fitted.kind)
    if 0.0 in found:
        content, chosen = found[0.0]
        out.append(_content(bench, fitted, sample, content, chosen, stock))
    for level, (content, chosen) in found.items():
        if level > 0 and 0.0 in found and chosen[0].kind != "additions":
            out.append(_recovery(bench, fitted, sample, level, found[0.0], (content, chosen)))
    return out


def _content(
    bench: Bench, fitted: Fitted, sample: str, content: Content, chosen: list[Point], stock: float
) -> Finding:
    value = with_stock(content.content, stock)
    ends = widened(content.interval, value.value, stock)
    settings: dict[str, Any] = {
        "interval low": ends.low * 1e3,
        "interval high": ends.high * 1e3,
        "level": content.interval.level,
        "interval by": content.interval.method,
        "readings": content.readings,
        "verdict": content.verdict,
    }
    notes = () if content.verdict == "read" else (f"{content.verdict}: not to be relied on as a number",)
    runs = tuple({p.run.file: p.run for p in chosen}.values())
    return bench.finding(
        "content",
        value,
        method="inverse prediction",
        electrode=fitted.electrode,
        condition=sample,
        runs=runs,
        settings=settings,
        notes=notes,
    )


def _recovery(
    bench: Bench,
    fitted: Fitted,
    sample: str,
    level: float,
    without: tuple[Content, list[Point]],
    spiked: tuple[Content, list[Point]],
) -> Finding:
    line = fitted.calibration.line
    # Both contents rest on one line: their shared part is that of the line alone.
    a, b = without[0].content.value, spiked[0].content.value
    shared = (
        line.at(line.x_mean).u ** 2 + (a - line.x_mean) * (b - line.x_mean) * line.slope.u**2
    ) / line.slope.value**2
    found = recovery(without[0].content, spiked[0].content, Measured(value=level, u=0.0), shared=shared)
    ends = found.interval(bench.confidence)
    settings = {
        "added / µM": level * 1e3,
        "interval low": ends.low * 100,
        "interval high": ends.high * 100,
        "level": ends.level,
    }
    runs = tuple({p.run.file: p.run for p in (*without[1], *spiked[1])}.values())
    condition = f"{sample}, {level * 1e3:.4g} µmol/L added"
    return bench.finding(
        "recovery",
        found,
        method="recovery",
        electrode=fitted.electrode,
        condition=condition,
        runs=runs,
        settings=settings,
    )


def _added(
    bench: Bench, fitted: Fitted | None, electrode: str, sample: str, members: list[Point]
) -> list[Finding]:
    levels = np.array([_level(p) for p in members])
    if np.unique(levels).size < 3 or len(members) < 4:
        return []
    volume = np.array([p.volume for p in members])
    background = (
        fitted.calibration.line.intercept if fitted is not None and fitted.kind == members[0].kind else None
    )
    found: StandardAddition = standard_addition(
        levels * volume if members[0].kind == "additions" else levels,
        [p.current.value for p in members],
        background=background,
        volumes=volume,
        level=bench.confidence,
    )
    stock = shared_stock(bench, members[0].kind)
    ends = widened(found.interval, found.content.value, stock)
    settings = {
        "interval low": ends.low * 1e3,
        "interval high": ends.high * 1e3,
        "level": found.interval.level,
        "interval by": found.interval.method,
        "readings": len(members),
        "background taken off": background is not None,
    }
    notes = (
        ()
        if background is not None
        else ("no background was taken off: what else flows in the sample is read as analyte",)
    )
    runs = tuple({p.run.file: p.run for p in members}.values())
    return [
        bench.finding(
            "content_by_addition",
            with_stock(found.content, stock),
            method="standard addition",
            electrode=electrode,
            condition=sample,
            runs=runs,
            settings=settings,
            notes=notes,
        )
    ]
