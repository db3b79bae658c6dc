"""Every voltammogram in analyte against its blank: jobs, the direction of each group, findings, exhibits."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.errors import Problem
from halfcell.pipeline.outcome import Outcome
from halfcell.pipeline.responds.pairing import PULSED, RULE, Pair, pairs
from halfcell.pipeline.responds.record_exhibits import overlays, record_exhibit
from halfcell.pipeline.responds.record_findings import record_findings
from halfcell.pipeline.responds.voltammogram import BranchFit, Voltammogram, fit_voltammogram
from halfcell.pipeline.workers import Job

if TYPE_CHECKING:
    from halfcell.pipeline.bench import Bench
    from halfcell.study.model import Run


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """A record with its analysis and the direction its group is judged in."""

    pair: Pair
    result: Voltammogram
    direction: int

    @property
    def fit(self) -> BranchFit | None:
        """The fit of the group's direction; of a pulse record, which sweeps once, the only one."""
        if self.pair.run.technique in PULSED:
            return self.result.fits[0]
        return self.result.along(self.direction)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted:
    """All judged records, and the findings, exhibits and problems they gave."""

    judged: tuple[Judged, ...]
    outcome: Outcome


def records(bench: Bench) -> Fitted:
    """Analyse all records in analyte alone."""
    found = pairs(bench.study)
    results = bench.crew.each(fit_voltammogram, [_job(bench, p) for p in found], what="Fitting voltammograms")
    problems = [
        replace(r, file=p.run.file) for p, r in zip(found, results, strict=True) if isinstance(r, Problem)
    ]
    problems += [
        Problem(file=p.run.file, what=f"analysed without a blank: {p.why}", severity="warning")
        for p in found
        if p.blank is None
    ]
    good = [(p, r) for p, r in zip(found, results, strict=True) if isinstance(r, Voltammogram)]
    ways = directions(bench, good)
    judged = tuple(
        Judged(pair=p, result=r, direction=ways[bench.study.group(p.run.electrode)]) for p, r in good
    )
    reference = reference_potential(bench, judged)
    findings, exhibits = [], []
    for one in judged:
        problems += _warnings(one)
        findings += record_findings(
            bench, one.pair, one.result, one.fit, one.direction, reference.get(one.direction, math.nan)
        )
        if one.pair.headline and one.fit is not None:
            exhibits.append(record_exhibit(bench, one.pair, one.result, one.fit))
    exhibits += overlays(
        bench, [(j.pair, j.result, j.fit) for j in judged if j.pair.headline and j.fit is not None]
    )
    return Fitted(
        judged=judged,
        outcome=Outcome(findings=tuple(findings), exhibits=tuple(exhibits), problems=tuple(problems)),
    )


def _job(bench: Bench, pair: Pair) -> Job:
    return Job(
        files=tuple(bench.source(r) for r in (pair.run, pair.blank) if r is not None),
        inputs=settings_of(bench, pair.run, pair.blank),
        about=pair.run.file,
    )


def settings_of(bench: Bench, run: Run, blank: Run | None) -> Mapping[str, Any]:
    """The inputs of the analysis of one record: the study's settings and a person's decisions."""
    chosen, study = bench.study.file.analysis.voltammetry, bench.study
    window = (
        None if chosen.peak_from is None or chosen.peak_to is None else (chosen.peak_from, chosen.peak_to)
    )
    windows, cycle = None, run.cycle
    for decision in study.decisions(run.file, "baseline window", "peak window", "use cycle"):
        if decision.kind == "baseline window":
            windows = [tuple(w) for w in decision.windows]
        elif decision.kind == "peak window":
            window = (decision.start, decision.end)
        elif decision.kind == "use cycle":
            cycle = decision.cycle
    return {
        "stated_rate": run.scan_rate,
        "blank_rate": None if blank is None else blank.scan_rate,
        "cycle": cycle,
        "directions": {"anodic": (1,), "cathodic": (-1,)}.get(chosen.direction, (1, -1)),
        "baseline": chosen.baseline,
        "windows": windows,
        "peak_window": window,
        "level": bench.confidence,
        "temperature": study.file.temperature,
        "peaks": chosen.peaks,
        "peak_shape": chosen.peak_shape,
        "resistance": study.electrode(run.electrode).resistance,
        "pulsed": run.technique in PULSED,
    }


def directions(bench: Bench, good: list[tuple[Pair, Voltammogram]]) -> dict[str, int]:
    """The direction each group is judged in: where the change against the blank is larger.

    Heights over the noise are added up over the group's records at the main condition; the direction
    of the first sweep counts a quarter more, because the product's return is not the analyte's response.
    """
    score: dict[str, dict[int, float]] = defaultdict(lambda: {1: 0.0, -1: 0.0})
    for pair, result in good:
        of = score[bench.study.group(pair.run.electrode)]
        for fit in result.fits:
            weight = 1.25 if fit.direction == result.first_direction else 1.0
            of[fit.direction] += (1.0 if pair.headline else 0.01) * weight * _strength(fit)
            of[fit.direction] += 1e-9 * weight
    return {group: (1 if of[1] >= of[-1] else -1) for group, of in score.items()}


def _strength(fit: BranchFit) -> float:
    if fit.response is None or fit.tail or fit.response.word == "none":
        return 0.0
    return max(fit.response.prominence.value, 0.0) if math.isfinite(fit.response.prominence.value) else 1.0


def reference_potential(bench: Bench, judged: tuple[Judged, ...]) -> dict[int, float]:
    """Where responses without a peak are read: the median peak potential of the electrodes made by the whole recipe."""
    found: dict[int, list[float]] = defaultdict(list)
    whole: dict[int, list[float]] = defaultdict(list)
    for one in judged:
        if one.fit is None or one.fit.peak is None or not one.pair.headline:
            continue
        made = bench.study.electrode(one.pair.run.electrode)
        found[one.direction].append(one.fit.peak.potential.value)
        if made.factors and all(made.factors.values()) and len(made.factors) > 1:
            whole[one.direction].append(one.fit.peak.potential.value)
    return {d: float(np.median(whole[d] or values)) for d, values in found.items()}


def _warnings(one: Judged) -> list[Problem]:
    file, result = one.pair.run.file, one.result
    found = []
    if result.rate.disagrees:
        found.append(Problem(file=file, place="scan_rate", what=result.rate.note, severity="warning"))
    if result.missing:
        found.append(
            Problem(
                file=file,
                what=f"about {result.missing} samples are missing (gaps in time)",
                severity="warning",
            )
        )
    if one.fit is None:
        found.append(
            Problem(file=file, what="no whole sweep in the direction of the response", severity="warning")
        )
    elif one.fit.response is None:
        found.append(
            Problem(file=file, what=f"the response was not judged: {one.fit.refused}", severity="warning")
        )
    if (
        one.fit is not None
        and one.fit.response is not None
        and one.fit.response.word == "peak"
        and one.fit.peak is None
    ):
        found.append(
            Problem(
                file=file,
                what=f"a peak is there but could not be measured: {one.fit.refused}",
                severity="warning",
            )
        )
    if one.fit is not None and one.fit.note.startswith("no blank"):
        found.append(Problem(file=file, what=one.fit.note, severity="warning"))
    return found


__all__ = ["RULE", "Fitted", "Judged", "records"]
