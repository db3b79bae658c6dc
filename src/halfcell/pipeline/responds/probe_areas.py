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
from halfcell.results import Measured, effective_df
from halfcell.statistics.line import fit_line
from halfcell.voltammetry import power_law
from halfcell.voltammetry.randles_sevcik import current_function, solve

if TYPE_CHECKING:
    from halfcell.finding import Finding
    from halfcell.pipeline.bench import Bench
    from halfcell.study.model import Run, Solution
    from halfcell.voltammetry.reversibility import Couple

LEAST_RATES = 3
ALPHA = 0.5
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

    def finding(self) -> Finding:
        """The area. Raises MethodError where the transfer or the control is not as the method needs it."""
        word, speed = self.transfer()
        law = power_law.scan_rate_exponent(
            self._root(speed.value) ** 2, self.heights, level=self.bench.confidence
        )
        if law.word != power_law.DIFFUSION:
            raise MethodError(
                f"The probe's peaks grow as the scan rate to the {law.exponent.value:.3f} ({law.interval.low:.3f} to {law.interval.high:.3f}{'' if word == 'reversible' else ', kinetics taken off'}): {law.word}. A probe's area needs diffusion alone, 0.5; look for adsorption of the probe, resistance, or radial diffusion to a small electrode."
            )
        area = self._area(speed)
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
            area,
            method="area by probe",
            electrode=self.electrode,
            condition=f"{self.name}, {self.used[0][0].concentration:.6g} mmol/L",
            runs=tuple(run for run, _, _ in self.used),
            settings=settings,
            notes=self._notes(word, speed),
        )

    def _notes(self, word: str, speed: Measured) -> tuple[str, ...]:
        separations = [c.separation.value for c in self.couples()]
        notes = (
            f"{word} transfer, peaks {min(separations) * 1e3:.0f} to {max(separations) * 1e3:.0f} mV apart"
            + (
                f", k⁰ = {speed.value * 1e2:.3g} cm/s by ψ, α = {ALPHA} taken" if word != "reversible" else ""
            ),
            NOT_REAL,
            ""
            if self.solution.probe_diffusion_uncertainty is not None
            else "the uncertainty of the diffusion coefficient is not stated and not in that of the area",
            "the uncertainty of the probe's concentration is not in that of the area",
            *(note for couple in self.couples() for note in couple.notes),
        )
        return tuple(dict.fromkeys(n for n in notes if n))

    def couples(self) -> list[Couple]:
        """The couple at each scan rate that shows both peaks."""
        found = []
        for _, result, fit in self.used:
            reverse = result.along(-self.direction)
            couple = None
            if reverse is not None and not reverse.tail:
                couple = couple_of(
                    fit,
                    reverse,
                    rate=result.rate.used,
                    electrons=self.solution.probe_electrons,
                    diffusion=self.diffusion,
                    temperature=self.temperature,
                )
            if couple is not None:
                found.append(couple)
        return found

    def transfer(self) -> tuple[str, Measured]:
        """ "reversible" with an infinite rate constant, or "quasi-reversible" with k⁰ (m/s) by ψ."""
        couples = self.couples()
        if not couples:
            raise MethodError(
                f"No voltammogram of {self.solution.probe} shows both peaks of the couple, so that its transfer is not known to be fast; sweep back far enough."
            )
        if all(c.word == "reversible" for c in couples):
            return "reversible", Measured(value=math.inf, u=0.0)
        gap = max(c.separation.value for c in couples)
        known = [c.rate_constant for c in couples if math.isfinite(c.rate_constant.u)]
        if any(c.word == "irreversible" for c in couples) or all(math.isnan(c.psi.value) for c in couples):
            raise MethodError(
                f"The peaks of {self.solution.probe} are up to {gap * 1e3:.0f} mV apart: too slow a transfer (or too large a resistance) for ψ, which ends at 211 mV for one electron. Take slower scan rates, state the resistance, or use a faster couple."
            )
        if not known:
            raise MethodError(self._unsure())
        logs = np.log([k.value for k in known])
        spread = float(np.std(logs, ddof=1)) / math.sqrt(logs.size) if logs.size > 1 else 0.0
        each = [k.u / k.value for k in known]
        relative = max(spread, float(np.median(each)) / math.sqrt(len(each)))
        value = math.exp(float(logs.mean()))
        return "quasi-reversible", Measured(value=value, u=value * relative)

    def _slowest(self) -> float:
        """The slowest k⁰ (m/s) that the separations of a reversible couple allow."""
        slowest = max(c.slowest for c in self.couples())
        if not slowest > 0:
            raise MethodError(self._unsure())
        return slowest

    def _unsure(self) -> str:
        return f"Where the peaks of {self.solution.probe} lie is so uncertain at every scan rate that their distance says nothing of how fast the transfer is."

    def _root(self, speed: float, alpha: float = ALPHA) -> np.ndarray:
        """K√v at each scan rate, (V/s)^½."""
        roots: np.ndarray = np.sqrt(self.rates)
        if not math.isfinite(speed):
            return roots
        n, fast = self.solution.probe_electrons, current_function("reversible", electrons=1)
        factors = [
            current_function("quasi-reversible", electrons=n, alpha_n=alpha * n, rate_constant=speed, diffusion=self.diffusion, rate=float(v), temperature=self.temperature) / fast
            for v in self.rates
        ]  # fmt: skip
        return np.asarray(roots * np.array(factors), dtype=float)

    def _solved(self, speed: float, alpha: float = ALPHA) -> Measured:
        return solve(
            "area",
            fit_line(self._root(speed, alpha), self.heights).slope,
            electrons=self.solution.probe_electrons,
            concentration=self.used[0][0].concentration,
            diffusion=self.diffusion,
            temperature=self.temperature,
        ).value

    def _area(self, speed: Measured) -> Measured:
        """The area with the uncertainties of the slope, of D, of k⁰ and of α (0.4 to 0.6, even); of a reversible transfer, of K."""
        area = self._solved(speed.value)
        parts = [(area.u, area.df)]
        stated = self.solution.probe_diffusion_uncertainty
        if stated:
            parts.append((0.5 * stated * area.value, math.inf))
        if math.isfinite(speed.value):
            ends = [self._solved(speed.value * math.exp(s * speed.u / speed.value)).value for s in (-1, 1)]
            parts.append((abs(ends[1] - ends[0]) / 2, math.inf))
            ends = [self._solved(speed.value, a).value for a in (0.4, 0.6)]
            parts.append((abs(ends[1] - ends[0]) / math.sqrt(12), math.inf))
        else:
            # K = 1 is one end of what the peaks allow: the root of the mean square from there, all between being alike.
            parts.append((abs(self._solved(self._slowest()).value - area.value) / math.sqrt(3), math.inf))
        return Measured(value=area.value, u=math.sqrt(sum(u * u for u, _ in parts)), df=effective_df(parts))


def _weight(fitted: list[tuple[Run, Voltammogram]], direction: int) -> float:
    """Peak heights of a direction; that of the first sweep counts a quarter more, as for the analyte."""
    total = 0.0
    for _, result in fitted:
        fit = result.along(direction)
        if fit is not None and fit.peak is not None and not fit.tail:
            total += fit.peak.height.value * (1.25 if direction == result.first_direction else 1.0)
    return total
