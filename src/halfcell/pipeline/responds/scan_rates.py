"""Scan-rate studies: what controls the current, and what follows from it."""

from __future__ import annotations

import math
from collections import defaultdict
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.errors import MethodError, Problem
from halfcell.pipeline.outcome import Outcome
from halfcell.pipeline.responds.scan_rate_exhibit import scan_rate_exhibit
from halfcell.results import Measured
from halfcell.statistics.line import fit_line
from halfcell.units import percent
from halfcell.voltammetry import power_law
from halfcell.voltammetry.bound_layer import bound_layer_wave
from halfcell.voltammetry.power_law import CatalyticTrend, Parts, PowerLaw
from halfcell.voltammetry.randles_sevcik import solve
from halfcell.voltammetry.transfer_coefficient import PeakShift, alpha_from_half_width, peak_shift

if TYPE_CHECKING:
    from halfcell.finding import Finding
    from halfcell.pipeline.bench import Bench
    from halfcell.pipeline.responds.records import Judged

LEAST_RATES = 3


def scan_rates(bench: Bench, judged: tuple[Judged, ...]) -> Outcome:
    """Findings and exhibits of every electrode with peaks at three or more scan rates in one solution."""
    series: dict[tuple[str, float], list[Judged]] = defaultdict(list)
    for one in judged:
        swept = one.pair.run.technique in {"cyclic voltammogram", "linear sweep"}
        if swept and one.fit is not None and one.fit.peak is not None and one.result.rate.used > 0:
            series[one.pair.run.electrode, one.pair.run.concentration or 0.0].append(one)
    best: dict[str, list[Judged]] = {}
    for (electrode, _), of in series.items():
        if len({round(j.result.rate.used, 6) for j in of}) >= LEAST_RATES and len(of) > len(
            best.get(electrode, [])
        ):
            best[electrode] = sorted(of, key=lambda j: j.result.rate.used)
    findings, exhibits, problems = [], [], []
    for electrode, of in best.items():
        try:
            study = _Series(bench, electrode, of)
            findings += study.findings()
            exhibits.append(scan_rate_exhibit(bench, electrode, of, study.law, study.shift, study.parts))
        except MethodError as error:
            problems.append(
                Problem(file=of[0].pair.run.file, place=electrode, what=str(error), severity="warning")
            )
    return Outcome(findings=tuple(findings), exhibits=tuple(exhibits), problems=tuple(problems))


class _Series:
    """One electrode's peaks at several scan rates."""

    def __init__(self, bench: Bench, electrode: str, of: list[Judged]) -> None:
        self.bench, self.electrode, self.of = bench, electrode, of
        self.peaks = [j.fit.peak for j in of if j.fit is not None and j.fit.peak is not None]
        self.rates = np.array([j.result.rate.used for j in of])
        self.heights = np.array([p.height.value for p in self.peaks])
        potentials = np.array([p.potential.value for p in self.peaks])
        self.law: PowerLaw = power_law.scan_rate_exponent(self.rates, self.heights, level=bench.confidence)
        self.trend: CatalyticTrend = power_law.catalytic_trend(
            self.rates, self.heights, level=bench.confidence
        )
        temperature = bench.study.file.temperature
        self.shift: PeakShift = peak_shift(
            self.rates, potentials, sign=of[0].direction, level=bench.confidence, temperature=temperature
        )
        self.parts: Parts | None = self._parts()

    def _parts(self) -> Parts | None:
        traces = [j.fit.difference for j in self.of if j.fit is not None and j.fit.difference is not None]
        rates = [j.result.rate.used for j in self.of if j.fit is not None and j.fit.difference is not None]
        if len(set(rates)) < LEAST_RATES:
            return None
        low = max(float(t.potential.min()) for t in traces)
        high = min(float(t.potential.max()) for t in traces)
        grid = np.linspace(low, high, 300)
        rows = []
        for trace in traces:
            order = np.argsort(trace.potential)
            rows.append(np.interp(grid, trace.potential[order], trace.current[order]))
        return power_law.separate_parts(
            grid, np.array(rows), np.array(rates), reference=float(rates[len(rates) // 2])
        )

    def one(
        self,
        name: str,
        measured: Measured,
        method: str,
        text: str = "",
        condition: str = "",
        notes: tuple[str, ...] = (),
    ) -> Finding:
        """A finding of this electrode."""
        level = self.of[0].pair.run.concentration or 0.0
        settings: dict[str, Any] = {
            "scan_rates": [f"{v * 1e3:.4g} mV/s" for v in self.rates],
            "concentration": f"{level:.6g} mmol/L",
            "direction": "anodic" if self.of[0].direction > 0 else "cathodic",
        }
        runs = tuple(j.pair.run for j in self.of)
        return self.bench.finding(
            name,
            measured,
            method=method,
            electrode=self.electrode,
            text=text,
            condition=condition,
            runs=runs,
            settings=settings,
            notes=notes,
        )

    def findings(self) -> list[Finding]:
        """All findings of the series."""
        ends = f"{self.law.interval.low:.3f} to {self.law.interval.high:.3f} at {percent(self.law.interval.level)}"
        notes = tuple(n for n in (f"exponent {ends}", self.law.note) if n)
        found = [
            self.one("scan_rate_exponent", self.law.exponent, "power law of scan rate", notes=notes),
            self.one(
                "control_of_current",
                self.law.exponent,
                "power law of scan rate",
                text=self.law.word,
                notes=notes,
            ),
            self.one(
                "catalytic_trend",
                self.trend.trend,
                "catalytic test",
                notes=(f"i_p/√v is {self.trend.word} with the scan rate",),
            ),
        ]
        if self.parts is not None:
            at = float(np.median([p.potential.value for p in self.peaks]))
            share = self.parts.share_at(at)
            if math.isfinite(share.value):
                note = f"at {at:.3f} V and {self.parts.reference * 1e3:.4g} mV/s; exact only where the peak does not move"
                found.append(self.one("diffusional_share", share, "parts of the current", notes=(note,)))
        return found + (self._coverage() if self.law.word == power_law.LAYER else []) + self._transfer()

    def _coverage(self) -> list[Finding]:
        """Coverage of a bound couple, from the middle scan rate."""
        k = len(self.peaks) // 2
        peak, file = self.peaks[k], self.bench.study.file
        if not math.isfinite(peak.charge.value):
            return []
        area = self.bench.study.electrode(self.electrode).area
        layer = bound_layer_wave(
            peak.charge,
            peak.height,
            peak.width,
            rate=float(self.rates[k]),
            area=area,
            electrons=float(file.electrons or 1),
            temperature=file.temperature,
        )
        width = layer.width_ratio
        note = (
            f"width {width.value:.2f} times the ideal"
            if math.isfinite(width.value)
            else f"no width: {width.why}"
        )
        electrons = "" if file.electrons else "one electron assumed"
        return [
            self.one(
                "surface_coverage",
                layer.coverage,
                "bound layer",
                notes=tuple(n for n in (note, electrons) if n),
            )
        ]

    def _transfer(self) -> list[Finding]:
        temperature = self.bench.study.file.temperature
        widths = [
            alpha_from_half_width(p.potential, p.half_potential, temperature=temperature)
            for p in self.peaks
            if math.isfinite(p.half_potential.value)
        ]
        found: list[Finding] = []
        if self.shift.moves and math.isfinite(self.shift.alpha_n.value):
            found.append(
                self.one(
                    "transfer_coefficient",
                    self.shift.alpha_n,
                    "peak shift with scan rate",
                    notes=("αn from the peak's movement",),
                )
            )
            if widths:
                values = np.array([w.value for w in widths])
                u = float(np.std(values, ddof=1)) / math.sqrt(values.size) if values.size > 1 else widths[0].u
                mean = Measured(value=float(values.mean()), u=max(u, widths[0].u), df=max(values.size - 1, 1))
                found.append(
                    self.one(
                        "transfer_coefficient",
                        mean,
                        "half-width of an irreversible peak",
                        condition="from the half-width",
                    )
                )
        return found + self._diffusion()

    def _diffusion(self) -> list[Finding]:
        """Area and diffusion coefficient, where diffusion controls the current."""
        file = self.bench.study.file
        level = self.of[0].pair.run.concentration or 0.0
        if self.law.word != power_law.DIFFUSION or file.electrons is None or not level:
            return []
        line = fit_line(np.sqrt(self.rates), self.heights)
        irreversible = self.shift.moves
        transfer = "irreversible" if irreversible else "reversible"
        alpha = self.shift.alpha_n if irreversible else None
        note = f"{transfer} transfer, {file.electrons} electrons" + (
            f", αn = {alpha.value:.3f}" if alpha else ""
        )
        if irreversible:
            note += (
                "; the transfer of the first electron decides the rate, all electrons count in the current"
            )
        common: dict[str, Any] = {
            "electrons": file.electrons,
            "concentration": level,
            "transfer": transfer,
            "alpha_n": alpha,
            "temperature": file.temperature,
        }
        method = f"Randles–Ševčík, {transfer}"
        if file.diffusion_coefficient is not None:
            solved = solve("area", line.slope, diffusion=file.diffusion_coefficient, **common)
            return [
                self.one(
                    "electroactive_area",
                    solved.value,
                    method,
                    notes=(note, "the area a diffusing molecule sees, not the real area of a rough surface"),
                )
            ]
        geometric = self.bench.study.electrode(self.electrode).area
        solved = solve("diffusion", line.slope, area=geometric, **common)
        return [
            self.one("diffusion_coefficient", solved.value, method, notes=(note, "with the geometric area"))
        ]
