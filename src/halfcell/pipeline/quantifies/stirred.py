"""Successive additions: from records and logs to points, findings and exhibits."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.amperometry.additions import AdditionTrace
from halfcell.amperometry.dilution import dilute
from halfcell.errors import HalfcellError, Problem
from halfcell.pipeline.outcome import Exhibit
from halfcell.pipeline.quantifies.doubts import not_made, odd_steps, said
from halfcell.pipeline.quantifies.logs import Log, read_log
from halfcell.pipeline.quantifies.points import Point, is_clean, is_plain
from halfcell.pipeline.quantifies.standardised import of_stock, stock_of
from halfcell.pipeline.quantifies.tasks import additions_of
from halfcell.pipeline.workers import Job
from halfcell.results import Measured

if TYPE_CHECKING:
    from halfcell.finding import Finding
    from halfcell.pipeline.bench import Bench
    from halfcell.results import FloatArray
    from halfcell.study.model import Run
    from halfcell.study.settings_amperometry import AmperometrySettings


@dataclass(slots=True)
class Gathered:
    """What a kind of record has given so far."""

    points: list[Point] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    exhibits: list[Exhibit] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    rises: list[tuple[Run, tuple[Measured, ...]]] = field(default_factory=list)
    """Response times of the steps of each record."""


def gather_additions(bench: Bench) -> Gathered:
    """Every record of additions of the study."""
    out = Gathered()
    runs = bench.study.runs_of("additions")
    settings = bench.study.file.analysis.amperometry
    names = dict.fromkeys(run.log for run in runs)
    logs = of_stock(stock_of(settings), {name: _log(bench, name, out) for name in names}, out.problems)
    jobs = [
        Job(files=(bench.source(run),), inputs=_inputs(bench, run, logs[run.log]), about=run.file)
        for run in runs
    ]
    results = bench.crew.each(additions_of, jobs, what="Reading additions")
    for run, result in zip(runs, results, strict=True):
        log = logs[run.log]
        if isinstance(result, Problem):
            out.problems.append(result)
            continue
        odd: tuple[tuple[int, float], ...] = ()
        skipped: tuple[int, ...] = ()
        if log is not None and settings.start_volume is not None:
            sure = [d.time for d in bench.study.decisions(run.file, "add step") if d.kind == "add step"]
            skipped = not_made(result, log, settings.start_volume, sure)
            odd = odd_steps(result, log, settings.start_volume, skipped)
        levels = _levels(run, log, result, skipped, settings, out)
        out.problems += said(run, result, skipped, odd)
        if levels is not None:
            _points(run, result, levels, out)
        _findings(bench, run, result, out)
        if is_plain(run) and is_clean(bench.study.solution(run)):
            out.rises.append((run, result.t90))
        out.exhibits.append(_exhibit(bench, run, result, None if levels is None else levels[0]))
    return out


def _log(bench: Bench, name: str, out: Gathered) -> Log | None:
    if not name:
        return None
    try:
        return read_log(bench.study.folder / name, name)
    except HalfcellError as error:
        out.problems += error.problems or (Problem(file=name, what=str(error)),)
        return None


def _inputs(bench: Bench, run: Run, log: Log | None) -> dict[str, Any]:
    settings = bench.study.file.analysis.amperometry
    decided = bench.study.decisions(run.file, "remove step", "add step", "move step")
    return {
        "log": None if log is None or log.times is None else list(log.times),
        "removed": [d.time for d in decided if d.kind == "remove step"],
        "added": [d.time for d in decided if d.kind == "add step"],
        "moved": [[d.time, d.to] for d in decided if d.kind == "move step"],
        "settle": settings.settle,
        "sample_from": settings.plateau_from,
        "sample_to": settings.plateau_to,
    }


def _levels(
    run: Run,
    log: Log | None,
    trace: AdditionTrace,
    skipped: tuple[int, ...],
    settings: AmperometrySettings,
    out: Gathered,
) -> tuple[FloatArray, FloatArray, FloatArray] | None:
    """Level, its standard uncertainty and the volume over the first one after each addition of the trace; None where it cannot be known."""
    k = trace.times.size
    if log is None:
        what = f"{k} steps were found, but without an addition log their levels are not known."
        out.problems.append(
            Problem(
                file=run.file, what=what, example="name the log in runs.csv, column log", severity="warning"
            )
        )
        return None
    if settings.start_volume is None:
        what = "the volume before the first addition is not known, so that no level can be worked out."
        out.problems.append(
            Problem(
                file="study.toml",
                place="analysis.amperometry.start_volume",
                what=what,
                example='start_volume = "20 mL"',
            )
        )
        return None
    if len(log.volumes) != k:
        what = f"the log has {len(log.volumes)} additions, but {k} steps are used; the levels are not known."
        out.problems.append(
            Problem(
                file=run.file,
                what=what,
                example="correct the log, or add or remove a step by an adjustment",
                severity="warning",
            )
        )
        return None
    made = [j not in skipped for j in range(k)]
    volumes = np.asarray(log.volumes)[made]
    found = dilute(
        settings.start_volume,
        volumes,
        np.asarray(log.concentrations)[made],
        start_concentration=run.concentration or 0.0,
        u_volume_relative=settings.volume_uncertainty,
    )  # The stock's own error is no scatter: it is added to what comes of the slope.
    index = np.concatenate([[0], np.cumsum(made)])
    return found.concentration[index], found.u[index], found.volume[index] / settings.start_volume


def _points(
    run: Run, trace: AdditionTrace, levels: tuple[FloatArray, FloatArray, FloatArray], out: Gathered
) -> None:
    level, u, volume = levels
    for k, plateau in enumerate(trace.plateaus):
        if k > 0 and level[k] == level[k - 1]:
            continue
        out.points.append(
            Point(
                electrode=run.electrode,
                kind="additions",
                solution=run.solution,
                level=float(level[k]),
                u_level=float(u[k]),
                current=plateau.current,
                run=run,
                series=run.file,
                volume=float(volume[k]),
                noise=Measured(value=plateau.sd, df=max(plateau.n_eff - 2, 1.0)),
            )
        )


def _findings(bench: Bench, run: Run, trace: AdditionTrace, out: Gathered) -> None:
    first = trace.plateaus[0]
    about: dict[str, Any] = {
        "electrode": run.electrode,
        "condition": run.file,
        "runs": (run,),
        "method": "plateau",
    }
    window = {
        "from": first.start,
        "to": first.end,
        "lag-1 correlation": first.rho,
        "readings left out": first.rejected,
    }
    out.findings.append(bench.finding("plateau_current", first.current, settings=window, **about))
    out.findings.append(bench.finding("plateau_drift", first.drift, settings=window, **about))
    noise = Measured(
        value=first.sd, u=first.sd / np.sqrt(2 * max(first.n_eff - 1, 1)), df=max(first.n_eff - 1, 1)
    )
    out.findings.append(bench.finding("blank_noise", noise, settings=window, **about))


def _exhibit(bench: Bench, run: Run, trace: AdditionTrace, levels: FloatArray | None) -> Exhibit:
    return Exhibit(
        kind="additions trace",
        key=f"additions {run.file}",
        title=f"{run.electrode}: successive additions",
        place="Quantifies",
        electrode=run.electrode,
        group=bench.study.group(run.electrode),
        condition=run.solution,
        recordings=(run.file,),
        data={
            "time": trace.shown_time,
            "current": trace.shown_current,
            "additions": trace.times,
            "unlogged": trace.unlogged,
            "unseen": [float(trace.times[k]) for k in trace.unseen],
            "plateau_start": np.array([p.start for p in trace.plateaus]),
            "plateau_end": np.array([p.end for p in trace.plateaus]),
            "plateau": np.array([p.current.value for p in trace.plateaus]),
            "levels": np.array([]) if levels is None else np.asarray(levels),
            "units": {"time": "s", "current": "A", "levels": "mol/m^3"},
        },
    )
