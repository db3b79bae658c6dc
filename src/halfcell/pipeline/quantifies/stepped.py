"""Potential steps: from records to points, findings and exhibits."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import Problem
from halfcell.pipeline.outcome import Exhibit
from halfcell.pipeline.quantifies.points import Point
from halfcell.pipeline.quantifies.stirred import Gathered
from halfcell.pipeline.quantifies.tasks import steps_of
from halfcell.pipeline.workers import Job
from halfcell.units import percent

if TYPE_CHECKING:
    from collections.abc import Sequence

    from halfcell.amperometry.steps import SampledSteps
    from halfcell.pipeline.bench import Bench
    from halfcell.study.model import Run


def gather_steps(bench: Bench) -> Gathered:
    """Every record of potential steps of the study."""
    out = Gathered()
    runs = bench.study.runs_of("potential step")
    settings = bench.study.file.analysis.amperometry
    window = (settings.sample_from, settings.sample_to)
    results = _sampled(bench, runs, window)
    if settings.sample_from is None:
        chosen = _window([r for r in results if not isinstance(r, Problem)])
        if chosen is not None:
            results = _sampled(bench, runs, (chosen, settings.sample_to))
    windows: dict[tuple[str, str], set[tuple[float, float]]] = {}
    largest: dict[str, float] = {}
    for run, result in zip(runs, results, strict=True):
        if not isinstance(result, Problem):
            largest[run.electrode] = max(largest.get(run.electrode, 0.0), abs(result.current.value))
    for run, result in zip(runs, results, strict=True):
        if isinstance(result, Problem):
            out.problems.append(result)
            continue
        windows.setdefault((run.electrode, run.solution), set()).add(
            (round(result.window[0], 2), round(result.window[1], 2))
        )
        _tell(run, result, largest[run.electrode], out)
        _take(bench, run, result, out)
    for (electrode, solution), found in windows.items():
        if len(found) > 1:
            listed = ", ".join(f"{a:g}–{b:g} s" for a, b in sorted(found))
            what = f"the steps of {electrode} in {solution or 'its solution'} differ in length, so that their sampling windows differ ({listed})."
            example = 'sample_from = "2 s" and sample_to = "4 s"'
            out.problems.append(
                Problem(
                    file="study.toml",
                    place="analysis.amperometry",
                    what=what,
                    example=example,
                    severity="warning",
                )
            )
    return out


def _sampled(
    bench: Bench, runs: Sequence[Run], window: tuple[float | None, float | None]
) -> list[SampledSteps | Problem]:
    jobs = [
        Job(
            files=(bench.source(run),),
            inputs={"to": run.step_potential, "sample_from": window[0], "sample_to": window[1]},
            about=run.file,
        )
        for run in runs
    ]
    return bench.crew.each(steps_of, jobs, what="Reading potential steps")


def _window(results: Sequence[SampledSteps]) -> float | None:
    """Where the window common to all records begins: as early as charging and decay allow, so that noise is averaged most.

    The latest of ten time constants of charging and the start of the straight line against 1/√t, over all
    records; at the latest half of the shortest step.
    """
    if not results:
        return None
    half = 0.5 * min(r.duration for r in results)
    charging = max(10 * r.time_constant for r in results)
    straight = max(
        (r.cottrell.start for r in results if r.cottrell is not None and r.cottrell.linear), default=0.0
    )
    return float(min(half, max(charging, straight, 0.05 * half)))


def _tell(run: Run, result: SampledSteps, largest: float, out: Gathered) -> None:
    """A warning where charging is more than a hundredth of the electrode's largest sampled current."""
    left = result.charging_share * abs(result.current.value)
    if left > 0.01 * largest:
        what = f"the charging current (time constant {result.time_constant:.3g} s) is still {percent(left / largest, 1)} of the electrode's largest current in the sampling window {result.window[0]:g}–{result.window[1]:g} s."
        example = f'sample_from = "{15 * result.time_constant:.2g} s"'
        out.problems.append(Problem(file=run.file, what=what, example=example, severity="warning"))


def _take(bench: Bench, run: Run, result: SampledSteps, out: Gathered) -> None:
    level = run.concentration or 0.0
    out.points.append(
        Point(
            electrode=run.electrode,
            kind="potential steps",
            solution=run.solution,
            level=level,
            u_level=0.0,
            current=result.current,
            run=run,
        )
    )
    window = {
        "from": result.window[0],
        "to": result.window[1],
        "steps": int(result.each.size),
        "charging time constant": result.time_constant,
    }
    condition = run.file
    out.findings.append(
        bench.finding(
            "sampled_current",
            result.current,
            method="sampled current",
            electrode=run.electrode,
            condition=condition,
            runs=(run,),
            settings=window,
        )
    )
    line = result.cottrell
    if line is not None and level > 0:
        told = (
            "straight against 1/√t" if line.linear else f"not straight against 1/√t (p = {line.p_curved:.2g})"
        )
        out.findings.append(
            bench.finding(
                "cottrell_slope",
                line.slope,
                method="Cottrell line",
                electrode=run.electrode,
                condition=condition,
                runs=(run,),
                settings={"from": line.start, "to": line.end},
                notes=(told,),
            )
        )
    out.exhibits.append(
        Exhibit(
            kind="sampled steps",
            key=f"step {run.file}",
            title=f"{run.electrode}: current after the potential step",
            place="Quantifies",
            electrode=run.electrode,
            group=bench.study.group(run.electrode),
            condition=run.solution,
            recordings=(run.file,),
            data={
                "time": result.shown_time,
                "current": result.shown_current,
                "window": list(result.window),
                "level": level,
                "sampled": float(result.each[0]),
                "line_start": line.start if line else math.nan,
                "line_end": line.end if line else math.nan,
                "line_slope": line.slope.value if line else math.nan,
                "line_intercept": line.intercept.value if line else math.nan,
                "straight": bool(line.linear) if line else False,
                "each": np.asarray(result.each),
                "units": {"time": "s", "current": "A", "level": "mol/m^3"},
            },
        )
    )
