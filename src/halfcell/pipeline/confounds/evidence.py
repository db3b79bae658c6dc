"""Points with and without a confounder on one electrode, and what they say."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.calibration.confounding import Confounding, confounding
from halfcell.errors import MethodError, Problem
from halfcell.pipeline.confounds.presence import amount
from halfcell.pipeline.confounds.verdict import told_apart
from halfcell.pipeline.outcome import Exhibit, Outcome
from halfcell.pipeline.quantifies.points import ORDER, Point, is_plain, rejection
from halfcell.pipeline.quantifies.standardised import shared, widened, with_stock
from halfcell.results import Measured, unknown
from halfcell.units import factor

if TYPE_CHECKING:
    from halfcell.finding import Finding, Findings
    from halfcell.pipeline.bench import Bench


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """The points of one kind of record on one electrode; ``measured`` mol/m³ is the confounder's level in them."""

    electrode: str
    confounder: str
    kind: str
    points: tuple[Point, ...]
    present: tuple[bool, ...]
    measured: float


def gather(bench: Bench, findings: Findings, name: str, points: Iterable[Point]) -> list[Evidence]:
    """One piece of evidence an electrode: from the records of its main calibration, else the next best."""
    by: dict[tuple[str, str], list[tuple[Point, float]]] = {}
    for point in points:
        level = amount(bench.study, name, bench.study.solution(point.run))
        if level is not None and is_plain(point.run) and not rejection(bench, point):
            by.setdefault((point.electrode, point.kind), []).append((point, level))
    out = []
    for electrode in bench.study.file.electrodes:
        main = next(
            (
                f.settings.get("records")
                for f in findings.named("sensitivity", electrode=electrode)
                if not f.condition
            ),
            "",
        )
        for kind in sorted(ORDER, key=lambda k: (k != main, ORDER.index(k))):
            members = by.get((electrode, kind), [])
            levels = [level for _, level in members if level > 0]
            if levels and len(levels) < len(members):
                out.append(
                    _evidence(findings, electrode, name, kind, members, max(set(levels), key=levels.count))
                )
                break
    return out


def _evidence(
    findings: Findings,
    electrode: str,
    name: str,
    kind: str,
    members: Sequence[tuple[Point, float]],
    measured: float,
) -> Evidence:
    ends = [next((f.value * factor(f.unit, "mol/m^3") for f in findings.named(which, electrode=electrode, condition="")), default)
            for which, default in (("linear_range_low", -math.inf), ("linear_range_high", math.inf))]  # fmt: skip
    slack = 1e-6 * max(abs(ends[1]) if math.isfinite(ends[1]) else 0.0, 1e-9)
    usable = [(p, z) for p, z in members if z in (0.0, measured) and p.level <= ends[1] + slack]
    return Evidence(
        electrode=electrode,
        confounder=name,
        kind=kind,
        points=tuple(p for p, _ in usable),
        present=tuple(z > 0 for _, z in usable),
        measured=measured,
    )


def judge(bench: Bench, findings: Findings, e: Evidence) -> Outcome:
    """Findings and an exhibit for one confounder on one electrode."""
    x = np.array([p.level for p in e.points])
    y = np.array([p.current.value for p in e.points])
    present = np.array(e.present, dtype=float)
    runs = tuple({p.run.file: p.run for p in e.points}.values())
    try:
        found = confounding(x, present, y, level=bench.confidence)
    except MethodError as error:
        place = f"{e.confounder} on {e.electrode}, {e.kind}"
        return Outcome(
            problems=(
                Problem(
                    file=runs[0].file if runs else "runs.csv",
                    place=place,
                    what=str(error),
                    severity="warning",
                ),
            )
        )
    about: dict[str, Any] = {"electrode": e.electrode, "condition": e.confounder, "runs": runs}
    stated = bench.study.file.confounders[e.confounder]
    scale = stated.level / e.measured
    settings = _settings(e, found, stated.level)
    shown = _with_stock(found, shared(bench, e.kind))  # not for the verdict: the limit of detection shares it
    made = [
        bench.finding(
            "confounder_signal", found.signal, method="false concentration", settings=settings, **about
        ),
        _false(bench, shown, scale, settings, about),
        _selectivity(bench, shown, e.measured, settings, about),
        _additivity(bench, found, settings, about),
    ]
    if found.slope_ratio is not None:
        made.append(
            bench.finding(
                "slope_ratio",
                found.slope_ratio.ratio,
                method="additivity",
                settings=_interval(found.slope_ratio.interval, 1.0),
                **about,
            )
        )
    made.append(_verdict(bench, findings, e, found, scale, about))
    return Outcome(findings=tuple(made), exhibits=(_exhibit(bench, e, x, y, present, found),))


def _with_stock(found: Confounding, stock: float) -> Confounding:
    """The level read, which is over the slope, with the relative uncertainty of the solution added."""
    read = found.equivalent
    value, interval = with_stock(read.ratio, stock), widened(read.interval, read.ratio.value, stock)
    return replace(found, equivalent=replace(read, ratio=value, interval=interval))


def _settings(e: Evidence, found: Confounding, level: float) -> dict[str, Any]:
    to = factor("mol/m^3", "umol/L")
    return {
        "records": e.kind,
        "level measured / µM": e.measured * to,
        "level stated / µM": level * to,
        "points": found.points,
        "points with it": found.points_with,
    }


def _interval(interval: Any, scale: float) -> dict[str, Any]:
    ends = sorted((interval.low * scale, interval.high * scale))
    return {
        "interval low": ends[0],
        "interval high": ends[1],
        "level": interval.level,
        "interval by": interval.method,
    }


def _readable(found: Confounding) -> bool:
    return found.equivalent.kind == "bounded"


_UNREADABLE = "the electrode's slope is not different from zero, so that no signal can be read as a level"


def _false(
    bench: Bench, found: Confounding, scale: float, settings: dict[str, Any], about: dict[str, Any]
) -> Finding:
    if not _readable(found):
        return bench.finding(
            "false_concentration",
            unknown(_UNREADABLE),
            method="false concentration",
            settings=settings,
            **about,
        )
    shown = _interval(found.equivalent.interval, scale * factor("mol/m^3", "umol/L"))
    notes = () if scale == 1 else (f"scaled from the level measured to the level stated by {scale:.4g}",)
    return bench.finding(
        "false_concentration",
        found.equivalent.ratio.times(scale),
        method="false concentration",
        settings=settings | shown,
        notes=notes,
        **about,
    )


def _selectivity(
    bench: Bench, found: Confounding, measured: float, settings: dict[str, Any], about: dict[str, Any]
) -> Finding:
    if not _readable(found):
        return bench.finding(
            "selectivity_coefficient",
            unknown(_UNREADABLE),
            method="selectivity coefficient",
            settings=settings,
            **about,
        )
    shown = _interval(found.equivalent.interval, 1 / measured)
    return bench.finding(
        "selectivity_coefficient",
        found.equivalent.ratio.times(1 / measured),
        method="selectivity coefficient",
        settings=settings | shown,
        **about,
    )


def _additivity(bench: Bench, found: Confounding, settings: dict[str, Any], about: dict[str, Any]) -> Finding:
    p = found.p_additive
    word = "untested" if math.isnan(p) else ("additive" if p >= 1 - bench.confidence else "not additive")
    why = (
        "the analyte was varied at fewer than two levels with the species present"
        if word == "untested"
        else ""
    )
    return bench.finding(
        "additivity", Measured(value=p, why=why), text=word, method="additivity", settings=settings, **about
    )


def _verdict(
    bench: Bench, findings: Findings, e: Evidence, found: Confounding, scale: float, about: dict[str, Any]
) -> Finding:
    lod = next(
        (
            f.value * factor(f.unit, "mol/m^3")
            for f in findings.named("limit_of_detection", electrode=e.electrode, condition="")
        ),
        math.nan,
    )
    resolution = next(
        (f.value for f in findings.named("peak_resolution", electrode=e.electrode, condition=e.confounder)),
        math.nan,
    )
    ends = sorted((found.equivalent.interval.low * scale, found.equivalent.interval.high * scale))
    verdict = told_apart(
        low=ends[0],
        high=ends[1],
        limit_of_detection=lod,
        p_additive=found.p_additive,
        level=bench.confidence,
        resolution=resolution,
        made_from_analyte=bench.study.file.confounders[e.confounder].made_from_analyte,
        same_direction=found.signal.value * found.sensitivity.value > 0,
    )
    return bench.finding(
        "told_apart",
        Measured(value=math.nan, why=verdict.why),
        text=verdict.word,
        method="told apart",
        **about,
    )


def _exhibit(
    bench: Bench, e: Evidence, x: np.ndarray, y: np.ndarray, present: np.ndarray, found: Confounding
) -> Exhibit:
    without = y[present == 0] - found.sensitivity.value * x[present == 0]
    base = float(without.mean())
    return Exhibit(
        kind="confounder",
        key=f"confounder {e.confounder} {e.electrode}",
        title=f"{e.electrode}: with and without {e.confounder}",
        place="Confounds",
        electrode=e.electrode,
        group=bench.study.group(e.electrode),
        condition=e.confounder,
        recordings=tuple(dict.fromkeys(p.run.file for p in e.points)),
        data={
            "x": x,
            "y": y,
            "present": present,
            "base": base,
            "slope": found.sensitivity.value,
            "signal": found.signal.value,
            "slope_with": found.sensitivity.value
            * (found.slope_ratio.ratio.value if found.slope_ratio else 1.0),
            "equivalent": found.equivalent.ratio.value,
            "low": found.equivalent.interval.low,
            "high": found.equivalent.interval.high,
            "units": {"x": "mol/m^3", "y": "A"},
        },
    )
