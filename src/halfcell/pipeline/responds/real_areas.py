"""Real areas from monolayer charges, for the materials that settings name."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from halfcell.errors import MethodError, Problem
from halfcell.finding import Findings
from halfcell.pipeline.outcome import Outcome
from halfcell.pipeline.responds.pairing import confounded, is_blank
from halfcell.pipeline.responds.voltammogram import branch_in, cycle_used, sweeps
from halfcell.pipeline.workers import Job
from halfcell.results import Measured
from halfcell.units import factor
from halfcell.voltammetry.real_area import CHARGE_DENSITIES, ChargeDensity, RealArea, monolayer_area
from halfcell.voltammetry.scan_rate_check import check_scan_rate

if TYPE_CHECKING:
    from halfcell.pipeline.bench import Bench
    from halfcell.recording import Recording
    from halfcell.study.model import Run


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Monolayered:
    """The real area of one electrode."""

    area: RealArea


def fit_real_area(record: Recording, **inputs: Any) -> Monolayered:
    """``inputs``: stated_rate, direction, window, density (name, C/m², u, source), geometric, double_layer, capacitance (F, u)."""
    found = sweeps(record)
    rate = check_scan_rate(found.scan_rate, inputs["stated_rate"]).used
    branch = branch_in(record, found, inputs["direction"], cycle_used(record, found, None).cycle)
    if branch is None:
        raise MethodError("No sweep in the direction of the monolayer was found.")
    name, value, u, source = inputs["density"]
    held = inputs.get("capacitance")
    area = monolayer_area(
        branch,
        rate=rate,
        window=tuple(inputs["window"]),
        density=ChargeDensity(name=name, density=value, u=u, source=source),
        geometric=inputs["geometric"],
        double_layer=None if inputs["double_layer"] is None else tuple(inputs["double_layer"]),
        capacitance=None if held is None else Measured(value=held[0], u=held[1]),
    )
    return Monolayered(area=area)


def real_areas(bench: Bench, findings: Findings) -> Outcome:
    """Findings of the real areas; ``findings`` hold the capacitances."""
    study, jobs, about = bench.study, [], []
    for monolayer in study.file.analysis.voltammetry.monolayers:
        density = CHARGE_DENSITIES.get(monolayer.process)
        value = monolayer.charge_density or (density.density if density else None)
        if value is None:
            continue
        stated = (
            monolayer.process,
            value,
            density.u if density and not monolayer.charge_density else 0.0,
            density.source if density else "stated in study.toml",
        )
        for name, made in study.file.electrodes.items():
            runs = [
                r
                for r in study.runs_of("cyclic voltammogram", electrode=name)
                if is_blank(r) and not confounded(study, r)
            ]
            if made.material != monolayer.material or not runs:
                continue
            run = min(runs, key=lambda r: r.scan_rate or math.inf)
            jobs.append(
                Job(
                    files=(bench.source(run),),
                    inputs=_inputs(findings, name, made.area, monolayer, stated, run),
                    about=run.file,
                )
            )
            about.append((name, run, stated))
    results = bench.crew.each(fit_real_area, jobs, what="Measuring real areas")
    found, problems = [], []
    for (name, run, stated), result in zip(about, results, strict=True):
        if isinstance(result, Problem):
            problems.append(Problem(file=run.file, place=name, what=result.what, severity="warning"))
            continue
        settings = {
            "charge_density": f"{stated[1] * 100:.4g} uC/cm^2",
            "process": stated[0],
            "source": stated[3],
        }
        for term, measured in (("real_area", result.area.area), ("roughness", result.area.roughness)):
            found.append(
                bench.finding(
                    term, measured, method="monolayer charge", electrode=name, runs=(run,), settings=settings
                )
            )
        found += _per_real_area(bench, findings, name, result.area)
    return Outcome(findings=tuple(found), problems=tuple(problems))


def _inputs(
    findings: Findings, name: str, area: float, monolayer: Any, stated: tuple[Any, ...], run: Run
) -> dict[str, Any]:
    layer = None
    if monolayer.double_layer_from is not None and monolayer.double_layer_to is not None:
        layer = [monolayer.double_layer_from, monolayer.double_layer_to]
    known = findings.named("double_layer_capacitance", electrode=name, condition="")
    held = None
    if known:
        to_si = factor(known[0].unit, "F/m^2") * area
        held = [known[0].value * to_si, known[0].standard_uncertainty * to_si]
    return {
        "stated_rate": run.scan_rate,
        "direction": 1 if monolayer.direction == "anodic" else -1,
        "window": [monolayer.start, monolayer.end],
        "density": list(stated),
        "geometric": area,
        "double_layer": layer,
        "capacitance": held,
    }


def _per_real_area(bench: Bench, findings: Findings, name: str, area: RealArea) -> list[Any]:
    known = findings.named("double_layer_capacitance", electrode=name, condition="")
    if not known:
        return []
    whole = known[0].value * factor(known[0].unit, "F/m^2") / area.roughness.value
    relative = math.hypot(
        known[0].standard_uncertainty / known[0].value, area.roughness.u / area.roughness.value
    )
    return [
        bench.finding(
            "capacitance_per_real_area",
            Measured(value=whole, u=whole * relative),
            method="monolayer charge",
            electrode=name,
        )
    ]
