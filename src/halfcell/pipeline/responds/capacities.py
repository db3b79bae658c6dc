"""Capacitance and window of every electrode from its blanks, and the ratio to the bare substrate."""

from __future__ import annotations

import math
from collections import defaultdict
from typing import TYPE_CHECKING, Any

from halfcell.errors import MethodError, Problem
from halfcell.pipeline.outcome import Exhibit, Outcome
from halfcell.pipeline.responds.charging import Charging, fit_charging
from halfcell.pipeline.responds.pairing import confounded, is_blank
from halfcell.pipeline.workers import Job
from halfcell.results import Measured
from halfcell.units import percent

if TYPE_CHECKING:
    from halfcell.finding import Finding
    from halfcell.pipeline.bench import Bench
    from halfcell.study.model import Run


def capacities(bench: Bench) -> Outcome:
    """Findings and exhibits of the charging currents."""
    study, chosen = bench.study, bench.study.file.analysis.voltammetry
    blanks: dict[str, tuple[Run, ...]] = {}
    for name in study.file.electrodes:
        runs = tuple(
            r
            for r in study.runs_of("cyclic voltammogram", electrode=name)
            if is_blank(r) and not confounded(study, r)
        )
        if runs:
            blanks[name] = runs
    jobs = [
        Job(
            files=tuple(bench.source(r) for r in runs),
            inputs={
                "stated_rates": [r.scan_rate for r in runs],
                "at": chosen.capacitance_potential,
                "area": study.electrode(name).area,
                "limit": chosen.window_current_density,
                "level": bench.confidence,
            },
            about=name,
        )
        for name, runs in blanks.items()
    ]
    results = bench.crew.each(fit_charging, jobs, what="Measuring capacitances")
    findings: list[Finding] = []
    problems: list[Problem] = []
    good: dict[str, Charging] = {}
    for (name, runs), result in zip(blanks.items(), results, strict=True):
        if isinstance(result, Problem):
            problems.append(Problem(file=runs[0].file, place=name, what=result.what, severity="warning"))
            continue
        good[name] = result
        if result.refused:
            problems.append(Problem(file=runs[0].file, place=name, what=result.refused, severity="warning"))
        findings += _findings(bench, name, runs, result)
    findings += _ratios(bench, good, blanks)
    return Outcome(
        findings=tuple(findings), exhibits=tuple(_exhibits(bench, good, blanks)), problems=tuple(problems)
    )


def _findings(bench: Bench, name: str, runs: tuple[Run, ...], result: Charging) -> list[Finding]:
    area = bench.study.electrode(name).area
    found = []
    c = result.capacitance
    if c is not None:
        settings: dict[str, Any] = {
            "window": f"{c.window[0]:.3f} to {c.window[1]:.3f} V",
            "scan_rates": [f"{r * 1e3:.4g} mV/s" for r in result.rates],
        }
        notes = (*c.notes, *result.notes)
        found.append(
            bench.finding("double_layer_capacitance", c.capacitance.times(1 / area), method="half-difference of charging currents", electrode=name, runs=runs, settings=settings, notes=notes)
        )  # fmt: skip
        if math.isfinite(c.exponent.value):
            found.append(
                bench.finding("capacitance_exponent", c.exponent, method="half-difference of charging currents", electrode=name, runs=runs, settings=settings, notes=notes)
            )  # fmt: skip
    if result.window is not None:
        limit = bench.study.file.analysis.voltammetry.window_current_density
        stated = {"current_density": f"{limit * 100:.4g} uA/cm^2"}
        for term, measured in (
            ("window_low", result.window.low),
            ("window_high", result.window.high),
            ("potential_window", result.window.width),
        ):
            if math.isfinite(measured.value):
                found.append(
                    bench.finding(
                        term,
                        measured,
                        method="window at a current density",
                        electrode=name,
                        runs=runs,
                        settings=stated,
                    )
                )
    return found


def _ratios(bench: Bench, good: dict[str, Charging], blanks: dict[str, tuple[Run, ...]]) -> list[Finding]:
    """Each electrode's capacitance over the mean of the bare substrate's electrodes."""
    from halfcell.statistics.ratios import ratio

    per_area = {
        n: r.capacitance.capacitance.times(1 / bench.study.electrode(n).area)
        for n, r in good.items()
        if r.capacitance is not None
    }
    bare = {n: m for n, m in per_area.items() if bench.study.electrode(n).role == "bare"}
    if not bare:
        return []
    values = [m.value for m in bare.values()]
    mean = sum(values) / len(values)
    inside = math.sqrt(sum(m.u**2 for m in bare.values())) / len(values)
    spread = math.sqrt(sum((v - mean) ** 2 for v in values) / max(len(values) - 1, 1) / len(values))
    below = Measured(
        value=mean, u=max(spread, inside), df=max(len(values) - 1, 1) if spread >= inside else math.inf
    )
    found = []
    for name, above in per_area.items():
        if name in bare:
            continue
        try:
            quotient = ratio(above, below, level=bench.confidence)
        except MethodError:
            continue
        note = f"{quotient.interval.low:.3g} to {quotient.interval.high:.3g} at {percent(quotient.interval.level)} by Fieller's theorem, over {', '.join(bare)}"
        runs = blanks[name] + tuple(r for n in bare for r in blanks[n])
        found.append(
            bench.finding(
                "capacitance_ratio",
                quotient.ratio,
                method="ratio by Fieller's theorem",
                electrode=name,
                runs=runs,
                notes=(note,),
            )
        )
    return found


def _exhibits(bench: Bench, good: dict[str, Charging], blanks: dict[str, tuple[Run, ...]]) -> list[Exhibit]:
    groups: dict[str, list[str]] = defaultdict(list)
    for name, result in good.items():
        if result.capacitance is not None:
            groups[bench.study.group(name)].append(name)
    shown = []
    for group, names in groups.items():
        lines = []
        for name in names:
            c, area = good[name].capacitance, bench.study.electrode(name).area
            assert c is not None
            lines.append(
                {
                    "electrode": name,
                    "rates": c.rates,
                    "densities": c.currents / area,
                    "u": c.u / area,
                    "slope": c.capacitance.value / area,
                    "intercept": c.offset.value / area if math.isfinite(c.offset.value) else 0.0,
                    "window": list(c.window),
                }
            )
        first = good[names[0]]
        data = {
            "lines": lines,
            "loops": [{"potential": t.potential, "current": t.current} for t in first.traces],
            "loops_of": names[0],
            "rates": list(first.rates),
            "reference_electrode": bench.study.file.reference_electrode,
            "units": {"rates": "V/s", "densities": "A/m^2", "potential": "V", "current": "A"},
        }
        shown.append(
            Exhibit(
                kind="capacitance",
                key=f"capacitance {group}",
                title=f"Charging current of {group}",
                place="Responds",
                group=group,
                recordings=tuple(r.file for n in names for r in blanks[n]),
                data=data,
            )
        )
    return shown
