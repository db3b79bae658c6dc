"""The area an outer-sphere probe sees, from its scan-rate study in a solution that names it."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.errors import MethodError, Problem
from halfcell.pipeline.outcome import Outcome
from halfcell.pipeline.responds.couples import couple_of
from halfcell.pipeline.responds.records import settings_of
from halfcell.pipeline.responds.voltammogram import Voltammogram, fit_voltammogram
from halfcell.pipeline.workers import Job
from halfcell.results import Measured
from halfcell.voltammetry import power_law
from halfcell.voltammetry.probe_area import ALPHA, Separation, area_by_probe

if TYPE_CHECKING:
    from halfcell.finding import Finding
    from halfcell.pipeline.bench import Bench
    from halfcell.study.model import Run, Solution
    from halfcell.voltammetry.probe_area import ProbeArea
    from halfcell.voltammetry.reversibility import Couple

LEAST_RATES = 3
NOT_REAL = (
    "the probe's diffusion layer is far thicker than the roughness is high, so that a monolayer's charge counts "
    "roughness that the probe does not see: not interchangeable with the real area"
)


def probe_areas(bench: Bench) -> Outcome:
    """A finding for every electrode with a probe's voltammograms at three or more scan rates."""
    runs, series = _series(bench)
    problems = [
        Problem(file=r.file, what=f"not used: in a probe's solution only cyclic voltammograms are, and this is of the technique {r.technique}", severity="warning")
        for r in runs if r.technique != "cyclic voltammogram"
    ]  # fmt: skip
    problems += [
        Problem(file="study.toml", place=f"solutions.{name}", what="states a probe's diffusion coefficient but names no probe, so that its runs count as the analyte's", example='probe = "hexaammineruthenium(III)"', severity="warning")
        for name, solution in bench.study.file.solutions.items()
        if solution.probe_diffusion_coefficient is not None and not solution.probe
    ]  # fmt: skip
    findings: list[Finding] = []
    ready: list[tuple[str, str, list[Run]]] = []
    for (electrode, name, _), of in series.items():
        try:
            _require(bench.study.file.solutions[name], name, of)
            ready.append((electrode, name, of))
        except MethodError as error:
            problems.append(_told(of, electrode, error))
    jobs = [_job(bench, run) for _, _, of in ready for run in of]
    results = iter(bench.crew.each(fit_voltammogram, jobs, what="Fitting the probe's voltammograms"))
    for electrode, name, of in ready:
        fitted = []
        for run in of:
            result = next(results)
            if isinstance(result, Problem):
                problems.append(replace(result, file=run.file))
            else:
                fitted.append((run, result))
        try:
            findings.append(_Probe(bench, electrode, name, fitted).finding())
        except MethodError as error:
            problems.append(_told(of, electrode, error))
    return Outcome(findings=tuple(findings), problems=tuple(problems))


def _series(bench: Bench) -> tuple[list[Run], dict[tuple[str, str, float], list[Run]]]:
    runs = [r for r in bench.study.runs if bench.study.in_probe(r)]
    series: dict[tuple[str, str, float], list[Run]] = defaultdict(list)
    for run in runs:
        if run.technique == "cyclic voltammogram" and run.concentration:
            series[run.electrode, run.solution, run.concentration].append(run)
    return runs, series


def _told(of: list[Run], electrode: str, error: MethodError) -> Problem:
    return Problem(
        file=of[0].file, place=electrode, what=f"no area by the probe: {error}", severity="warning"
    )


def _require(solution: Solution, name: str, of: list[Run]) -> None:
    if solution.probe_diffusion_coefficient is None:
        raise MethodError(
            f'The diffusion coefficient of {solution.probe} is not stated. Write it in [solutions.{name}], such as probe_diffusion_coefficient = "8.4e-6 cm^2/s" with its value in this electrolyte.'
        )
    if len(of) < LEAST_RATES:
        raise MethodError(
            f"It needs voltammograms of {solution.probe} at {LEAST_RATES} or more scan rates at one concentration; there are {len(of)}."
        )


def _job(bench: Bench, run: Run) -> Job:
    blank = _blank(bench, run)
    inputs = dict(settings_of(bench, run, blank)) | {"directions": (1, -1), "peaks": 1}
    if not bench.study.decisions(run.file, "peak window"):
        inputs["peak_window"] = None  # The study's window is the analyte's.
    files = tuple(bench.source(r) for r in (run, blank) if r is not None)
    return Job(files=files, inputs=inputs, about=run.file)


def _blank(bench: Bench, run: Run) -> Run | None:
    """The blank in the same solution, without the probe, at the same scan rate."""
    key = (run.electrode, run.solution, run.technique)
    for other in bench.study.runs:
        if (other.electrode, other.solution, other.technique) != key or other.concentration:
            continue
        if other.scan_rate and run.scan_rate and abs(math.log(other.scan_rate / run.scan_rate)) < 0.02:
            return other
    return None


class _Probe:
    """One electrode's voltammograms of a probe at one concentration."""

    def __init__(
        self, bench: Bench, electrode: str, name: str, fitted: list[tuple[Run, Voltammogram]]
    ) -> None:
        self.bench, self.electrode, self.name = bench, electrode, name
        self.solution = bench.study.file.solutions[name]
        self.temperature = bench.study.file.temperature
        self.diffusion = float(self.solution.probe_diffusion_coefficient or math.nan)
        self.direction = max((1, -1), key=lambda d: _weight(fitted, d))
        good = [
            (run, r, fit)
            for run, r in fitted
            if (fit := r.along(self.direction)) is not None
            and fit.peak is not None
            and not fit.tail
            and r.rate.used > 0
        ]
        self.used = sorted(good, key=lambda one: one[1].rate.used)
        self.rates = np.array([r.rate.used for _, r, _ in self.used])
        if np.unique(np.round(self.rates, 6)).size < LEAST_RATES:
            raise MethodError(
                f"{self.solution.probe} shows a peak at {np.unique(np.round(self.rates, 6)).size} scan rates; the line of its height against the root of the scan rate needs {LEAST_RATES}."
            )
        self.heights = np.array([fit.peak.height.value for _, _, fit in self.used if fit.peak is not None])
        self.couples = self._couples()

    def finding(self) -> Finding:
        """The area. Raises MethodError where the transfer or the control is not as the method needs it."""
        found = self.area()
        law = power_law.scan_rate_exponent(found.roots**2, self.heights, level=self.bench.confidence)
        if law.word != power_law.DIFFUSION:
            raise MethodError(
                f"The probe's peaks grow as the scan rate to the {law.exponent.value:.3f} ({law.interval.low:.3f} to {law.interval.high:.3f}, kinetics taken off): {law.word}. A probe's area needs diffusion alone, 0.5; look for adsorption of the probe, resistance, or radial diffusion to a small electrode."
            )
        stated = self.solution.probe_diffusion_uncertainty
        settings: dict[str, Any] = {
            "probe": self.solution.probe,
            "electrons": self.solution.probe_electrons,
            "concentration": f"{self.used[0][0].concentration:.6g} mmol/L",
            "diffusion_coefficient": f"{self.diffusion * 1e4:.4g} cm^2/s"
            + ("" if stated is None else f" ± {stated * 100:.3g} %"),
            "scan_rates": [f"{v * 1e3:.4g} mV/s" for v in self.rates],
            "direction": "anodic" if self.direction > 0 else "cathodic",
        }
        return self.bench.finding(
            "probe_area",
            found.area,
            method="area by probe",
            electrode=self.electrode,
            condition=f"{self.name}, {self.used[0][0].concentration:.6g} mmol/L",
            runs=tuple(run for run, _, _ in self.used),
            settings=settings,
            notes=self._notes(found),
        )

    def _notes(self, found: ProbeArea) -> tuple[str, ...]:
        gaps = [c.separation.value for c, _ in self.couples]
        if found.word == "reversible":
            speed = f", k⁰ above {found.slowest * 1e2:.2g} cm/s" if math.isfinite(found.slowest) else ""
        else:
            speed = f", k⁰ = {found.rate_constant.value * 1e2:.3g} cm/s by ψ, α = {ALPHA} taken"
        notes = (
            f"{found.word} transfer, peaks {min(gaps) * 1e3:.0f} to {max(gaps) * 1e3:.0f} mV apart{speed}",
            NOT_REAL,
            ""
            if self.solution.probe_diffusion_uncertainty is not None
            else "the uncertainty of the diffusion coefficient is not stated and not in that of the area",
            "the uncertainty of the probe's concentration is not in that of the area",
            found.note,
            *(note for couple, _ in self.couples for note in couple.notes),
        )
        return tuple(dict.fromkeys(n for n in notes if n))

    def _couples(self) -> list[tuple[Couple, Separation]]:
        """The couple at each scan rate that shows both peaks."""
        found = []
        for _, result, fit in self.used:
            reverse = result.along(-self.direction)
            if reverse is None or reverse.tail:
                continue
            rate = result.rate.used
            couple = couple_of(
                fit,
                reverse,
                rate=rate,
                electrons=self.solution.probe_electrons,
                diffusion=self.diffusion,
                temperature=self.temperature,
            )
            if couple is not None:
                turn = float(np.max(self.direction * fit.sample.potential))
                beyond = turn - self.direction * couple.middle.value
                found.append((couple, Separation(gap=couple.separation, rate=rate, reversal=beyond)))
        return found

    def area(self) -> ProbeArea:
        """The area, with the speed of the transfer from the peaks' distances. Raises MethodError where they do not tell it."""
        if not self.couples:
            raise MethodError(
                f"No voltammogram of {self.solution.probe} shows both peaks of the couple, so that its transfer is not known to be fast; sweep back far enough."
            )
        gap = max(c.separation.value for c, _ in self.couples)
        if any(c.word == "irreversible" for c, _ in self.couples):
            raise MethodError(
                f"The peaks of {self.solution.probe} are up to {gap * 1e3:.0f} mV apart: too slow a transfer (or too large a resistance) for ψ, which ends at 211 mV for one electron. Take slower scan rates, state the resistance, or use a faster couple."
            )
        stated = self.solution.probe_diffusion_uncertainty
        return area_by_probe(
            self.rates,
            self.heights,
            [separation for _, separation in self.couples],
            electrons=self.solution.probe_electrons,
            concentration=self.used[0][0].concentration or math.nan,
            diffusion=Measured(value=self.diffusion, u=stated * self.diffusion if stated else math.nan),
            temperature=self.temperature,
        )


def _weight(fitted: list[tuple[Run, Voltammogram]], direction: int) -> float:
    """Peak heights of a direction; that of the first sweep counts a quarter more, as for the analyte."""
    total = 0.0
    for _, result in fitted:
        fit = result.along(direction)
        if fit is not None and fit.peak is not None and not fit.tail:
            total += fit.peak.height.value * (1.25 if direction == result.first_direction else 1.0)
    return total
