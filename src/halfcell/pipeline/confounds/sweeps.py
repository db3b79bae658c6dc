"""Voltammograms of the confounder alone: its current where the analyte is read, and the distance of the peaks."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.errors import Problem
from halfcell.pipeline.confounds.presence import amount
from halfcell.pipeline.outcome import Exhibit, Outcome
from halfcell.pipeline.responds.pairing import SWEEPS, is_blank
from halfcell.pipeline.responds.records import settings_of
from halfcell.pipeline.responds.voltammogram import BranchFit, Voltammogram, fit_voltammogram
from halfcell.pipeline.workers import Job
from halfcell.results import Measured, effective_df
from halfcell.units import factor

if TYPE_CHECKING:
    from halfcell.finding import Finding, Findings
    from halfcell.pipeline.bench import Bench
    from halfcell.study.model import Run

RULE = (
    "The confounder's own voltammogram is that of a blank with it less that of a blank without it, of the same electrode and "
    "technique at a scan rate within a factor of 1.5; both must be there."
)
_NOTE = "from one pair of records: the scatter between records is not in its uncertainty"


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepPair:
    """A blank with the confounder, one without, the confounder's level, and the analyte's record beside."""

    with_it: Run
    without: Run
    measured: float
    analyte: Finding
    analyte_run: Run
    direction: int


def by_sweeps(bench: Bench, findings: Findings, name: str) -> Outcome:
    """What voltammograms say of one confounder on every electrode that has them."""
    pairs = [
        p for p in (_pair(bench, findings, name, e) for e in bench.study.file.electrodes) if p is not None
    ]
    jobs = [
        Job(
            files=(bench.source(p.with_it), bench.source(p.without)),
            inputs={
                **settings_of(bench, p.with_it, p.without),
                "directions": (p.direction,),
                "peak_window": None,
                "windows": None,
            },
            about=p.with_it.file,
        )
        for p in pairs
    ]
    out = Outcome()
    for pair, result in zip(
        pairs, bench.crew.each(fit_voltammogram, jobs, what=f"Voltammograms of {name}"), strict=True
    ):
        if isinstance(result, Problem):
            out = out.plus(Outcome(problems=(result,)))
        elif isinstance(result, Voltammogram):
            fit = result.along(pair.direction)
            if fit is not None and fit.difference is not None:
                out = out.plus(_told(bench, findings, name, pair, fit))
    return out


def _pair(bench: Bench, findings: Findings, name: str, electrode: str) -> SweepPair | None:
    """The pair at the scan rate of the electrode's main record in analyte."""
    response = next(iter(findings.named("response_current", electrode=electrode, condition="")), None)
    if response is None or not math.isfinite(response.value):
        return None
    by_file = {r.file: r for r in bench.study.runs}
    analyte = next(
        (by_file[f] for f in response.recordings if f in by_file and by_file[f].concentration), None
    )
    if analyte is None:
        return None
    blanks = [
        r
        for r in bench.study.runs_of(*SWEEPS, electrode=electrode)
        if is_blank(r) and r.technique == analyte.technique and _near(r, analyte)
    ]
    levels = [(r, amount(bench.study, name, bench.study.solution(r))) for r in blanks]
    with_it = [(r, z) for r, z in levels if z]
    without = [r for r, z in levels if z == 0]
    if not with_it or not without:
        return None
    run, measured = with_it[0]
    direction = -1 if response.settings.get("direction") == "cathodic" else 1
    return SweepPair(
        with_it=run,
        without=without[0],
        measured=measured,
        analyte=response,
        analyte_run=analyte,
        direction=direction,
    )


def _near(a: Run, b: Run) -> bool:
    if a.scan_rate is None or b.scan_rate is None:
        return a.scan_rate == b.scan_rate
    return bool(1 / 1.5 <= a.scan_rate / b.scan_rate <= 1.5)


def _told(bench: Bench, findings: Findings, name: str, pair: SweepPair, fit: BranchFit) -> Outcome:
    electrode = pair.with_it.electrode
    about: dict[str, Any] = {
        "electrode": electrode,
        "condition": name,
        "runs": (pair.with_it, pair.without, pair.analyte_run),
    }
    potential = _si(findings, "peak_potential", electrode, "V")
    where = potential.value if potential is not None else _highest(fit, pair.direction)
    current, noise = _at(fit, where)
    response = pair.analyte.measured().times(factor(pair.analyte.unit, "A"))
    made: list[Finding] = []
    scale = bench.study.file.confounders[name].level / pair.measured
    if response.value > 0 and pair.analyte_run.concentration:
        per_level = response.times(1 / pair.analyte_run.concentration)
        top = Measured(value=current * pair.direction * scale, u=noise * scale)
        false = _over(top, per_level)
        settings = {"potential / V": where, "rule": RULE, "level measured / µM": pair.measured * 1e3}
        made.append(
            bench.finding(
                "false_concentration_by_sweep",
                false,
                method="false concentration by sweep",
                settings=settings,
                notes=(_NOTE,),
                **about,
            )
        )
    width = _si(findings, "peak_width", electrode, "V")
    if potential is not None and width is not None and fit.peak is not None:
        made.append(
            bench.finding(
                "peak_resolution",
                resolution(potential, width, fit.peak.potential, fit.peak.width),
                method="told apart",
                **about,
            )
        )
    return Outcome(findings=tuple(made), exhibits=(_exhibit(bench, name, pair, fit, where, current),))


def resolution(first: Measured, first_width: Measured, second: Measured, second_width: Measured) -> Measured:
    """R = |ΔE_p|/((w₁ + w₂)/2), first-order uncertainty."""
    mean = (first_width.value + second_width.value) / 2
    apart = abs(first.value - second.value)
    parts = [(m.u, m.df) for m in (first, second) if math.isfinite(m.u)]
    wide = [(m.u, m.df) for m in (first_width, second_width) if math.isfinite(m.u)]
    value = apart / mean
    shares = [(u / mean, df) for u, df in parts] + [(value * u / 2 / mean, df) for u, df in wide]
    return Measured(value=value, u=math.sqrt(sum(u * u for u, _ in shares)), df=effective_df(shares))


def _over(top: Measured, bottom: Measured) -> Measured:
    value = top.value / bottom.value
    shares = [(top.u / bottom.value, top.df)]
    if math.isfinite(bottom.u):
        shares.append((value * bottom.u / bottom.value, bottom.df))
    return Measured(value=value, u=math.sqrt(sum(u * u for u, _ in shares)), df=effective_df(shares))


def _si(findings: Findings, name: str, electrode: str, unit: str) -> Measured | None:
    found = next(iter(findings.named(name, electrode=electrode, condition="")), None)
    if found is None or not math.isfinite(found.value):
        return None
    return found.measured().times(factor(found.unit, unit))


def _highest(fit: BranchFit, direction: int) -> float:
    assert fit.difference is not None
    return float(fit.difference.potential[int(np.argmax(direction * fit.difference.current))])


def _at(fit: BranchFit, where: float) -> tuple[float, float]:
    """The confounder's current at a potential: a line through the nearest tenth of the sweep's points, and its error."""
    assert fit.difference is not None
    e, y = fit.difference.potential, fit.difference.current
    near = np.argsort(np.abs(e - where))[: max(7, e.size // 40)]
    x = e[near] - where
    slope, level = np.polyfit(x, y[near], 1)
    rest = y[near] - slope * x - level
    return float(level), float(np.sqrt(np.sum(rest**2) / (near.size - 2) / near.size))


def _exhibit(
    bench: Bench, name: str, pair: SweepPair, fit: BranchFit, where: float, current: float
) -> Exhibit:
    assert fit.difference is not None
    blank = fit.blank or fit.sample
    electrode = pair.with_it.electrode
    return Exhibit(
        kind="confounder sweeps",
        key=f"confounder sweeps {name} {electrode}",
        title=f"{electrode}: voltammogram of {name}",
        place="Confounds",
        electrode=electrode,
        group=bench.study.group(electrode),
        condition=name,
        recordings=(pair.with_it.file, pair.without.file),
        data={
            "with_potential": fit.sample.potential,
            "with_current": fit.sample.current,
            "without_potential": blank.potential,
            "without_current": blank.current,
            "difference_potential": fit.difference.potential,
            "difference_current": fit.difference.current,
            "where": where,
            "current": current,
            "caption": "Blank with and without the species, and their difference; the line marks where the analyte is read.",
            "units": {"potential": "V", "current": "A"},
        },
    )
