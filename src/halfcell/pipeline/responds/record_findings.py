"""The findings of one record."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.errors import MethodError
from halfcell.pipeline.responds.pairing import PULSED
from halfcell.results import Measured, unknown
from halfcell.units import number, percent
from halfcell.voltammetry.reference_electrodes import convert

if TYPE_CHECKING:
    from halfcell.finding import Finding
    from halfcell.pipeline.bench import Bench
    from halfcell.pipeline.responds.pairing import Pair
    from halfcell.pipeline.responds.voltammogram import BranchFit, Voltammogram
    from halfcell.study.model import Run

_OF_PEAK = (
    ("peak_potential", "potential"),
    ("peak_current", "current"),
    ("half_peak_potential", "half_potential"),
    ("onset_potential", "onset"),
    ("peak_width", "width"),
    ("peak_charge", "charge"),
    ("peak_asymmetry", "asymmetry"),
    ("signal_to_noise", "signal_to_noise"),
)


def record_findings(
    bench: Bench, pair: Pair, result: Voltammogram, fit: BranchFit | None, direction: int, reference: float
) -> list[Finding]:
    """All findings of a record at its condition (empty for the study's main condition)."""
    runs = tuple(r for r in (pair.run, pair.blank) if r is not None)
    at = "" if pair.headline else pair.condition
    settings: dict[str, Any] = {
        "condition": pair.condition,
        "direction": "anodic" if direction > 0 else "cathodic",
        "cycle": result.cycle.cycle,
        "blank": pair.blank.file if pair.blank else "none",
    }
    notes = tuple(n for n in (f"at {pair.condition}", result.rate.note, fit.note if fit else "") if n)

    def one(
        name: str, measured: Measured, method: str, text: str = "", more: tuple[str, ...] = (), **extra: Any
    ) -> Finding:
        return bench.finding(
            name, measured, method=method, electrode=pair.run.electrode, condition=at, text=text, runs=runs,
            settings=settings | extra, notes=(*notes, *more),
        )  # fmt: skip

    found = []
    if math.isfinite(result.rate.measured.value):
        found.append(one("scan_rate_measured", result.rate.measured, "scan rate from the data"))
    if math.isfinite(result.cycle.drift.value):
        found.append(
            one("cycle_drift", result.cycle.drift, "drift between cycles", more=(result.cycle.note,))
        )
    if fit is None or fit.response is None:
        return found
    response = fit.response
    share = ", ".join(
        f"{w} {_share(p)}"
        for w, p in (("none", response.none), ("wave", response.wave), ("peak", response.peak))
    )
    doubt = () if response.decided else (f"not decided at {percent(response.level)}: {share}",)
    found.append(
        one(
            "response_class",
            Measured(value=response.probability(), why=f"probabilities: {share}"),
            "response class",
            text=response.word,
            more=doubt,
        )
    )
    if response.word != "none":
        span = f"between the maximum and {response.span * 1e3:.0f} mV beyond it"
        found.append(
            one(
                "definition_ratio",
                response.definition,
                "response class",
                more=(span,),
                span=f"{response.span:.4f} V",
            )
        )
    if response.word == "wave":
        if response.complete:
            found.append(
                one(
                    "half_wave_potential",
                    Measured(value=response.half, why="from the most probable model alone"),
                    "response class",
                )
            )
        else:
            found[-1] = replace(
                found[-1], notes=(*found[-1].notes, "the current still rises at the end of the scan")
            )
    if fit.peak is not None:
        found += _of_peak(one, fit)
        if pair.run.technique in PULSED:
            found.append(_half_wave(one, pair, fit))
        if pair.headline and bench.study.file.analysis.voltammetry.reference_to:
            found += _converted(bench, pair, fit, runs, settings)
    if fit.overlapping is not None:
        found += _components(bench, pair, fit, runs, settings, notes)
    found.append(one("response_current", *_response_current(fit, reference)))
    return found


def _components(
    bench: Bench,
    pair: Pair,
    fit: BranchFit,
    runs: tuple[Run, ...],
    settings: dict[str, Any],
    notes: tuple[str, ...],
) -> list[Finding]:
    """Overlapping peaks, each under the condition "peak 1", "peak 2" …"""
    together = fit.overlapping
    assert together is not None
    said = f"{len(together.components)} peaks ({together.shape}) fitted together; residual {number(together.misfit * 1e6)} µA, correlation {together.correlation:.2f}"
    found = []
    for k, component in enumerate(together.components, start=1):
        at = ", ".join(x for x in ("" if pair.headline else pair.condition, f"peak {k}") if x)
        limit = (f"at its limit: {component.at_bound}",) if component.at_bound else ()
        for name, measured in (("peak_potential", component.potential), ("peak_current", component.height)):
            found.append(
                bench.finding(
                    name, measured, method="overlapping peaks", electrode=pair.run.electrode, condition=at, runs=runs, settings=settings,
                    notes=(*notes, said, *limit),
                )
            )  # fmt: skip
    return found


def _half_wave(one: Any, pair: Pair, fit: BranchFit) -> Finding:
    """E1/2 of a pulse record."""
    assert fit.peak is not None
    at, pulse = fit.peak.potential, pair.run.pulse
    more: tuple[str, ...] = ()
    if pair.run.technique == "differential pulse":
        if pulse is None:
            more = ("the pulse height is not stated (column pulse of runs.csv): too early by half a pulse",)
        else:
            at = Measured(value=at.value + fit.direction * abs(pulse) / 2, u=at.u, df=at.df)
    found: Finding = one("half_wave_potential", at, "half-wave potential of a pulse peak", more=more)
    return found


def _converted(
    bench: Bench, pair: Pair, fit: BranchFit, runs: tuple[Run, ...], settings: dict[str, Any]
) -> list[Finding]:
    """The peak potential against the electrode that settings name; a note in place of a value is a finding too."""
    assert fit.peak is not None
    file = bench.study.file
    to, solution = file.analysis.voltammetry.reference_to, bench.study.solution(pair.run)
    ph = None if solution is None else solution.ph
    try:
        found = convert(
            fit.peak.potential, from_=file.reference_electrode, to=to, temperature=file.temperature, ph=ph
        )
        measured, notes = found.potential, found.notes
    except MethodError as error:
        measured, notes = unknown(str(error)), ()
    return [
        bench.finding(
            "peak_potential_against", measured, method="reference electrodes", electrode=pair.run.electrode, condition=f"vs {to}", runs=runs,
            settings=settings, notes=notes,
        )
    ]  # fmt: skip


def _share(probability: float) -> str:
    return "< 0.0001" if probability < 1e-4 else "> 0.9999" if probability > 0.9999 else f"{probability:.4f}"


def _of_peak(one: Any, fit: BranchFit) -> list[Finding]:
    peak = fit.peak
    assert peak is not None
    windows = "; ".join(f"{a:.3f} to {b:.3f} V" for a, b in peak.baseline.windows)
    parts = (
        f"standard uncertainty of the height: noise {number(peak.u_noise * 1e6)}, baseline {number(peak.u_baseline * 1e6)}, "
        f"choice of baseline {number(peak.u_choice * 1e6)} µA over {len(peak.choices)} baselines"
    )
    found = []
    missing = tuple(
        f"no {name.replace('_', ' ')}: {getattr(peak, a).why}"
        for name, a in _OF_PEAK
        if not math.isfinite(getattr(peak, a).value)
    )
    for name, attribute in _OF_PEAK:
        value: Measured = getattr(peak, attribute)
        if math.isfinite(value.value):
            more = (parts, *missing) if name == "peak_current" else ()
            found.append(
                one(
                    name, value, "peak over baseline", more=more, baseline=peak.baseline.kind, windows=windows
                )
            )
    return found


def _response_current(fit: BranchFit, reference: float) -> tuple[Measured, str]:
    """The size of the response and the method that gave it."""
    assert fit.response is not None
    if fit.peak is not None:
        return fit.peak.height, "peak over baseline"
    trace = fit.difference or fit.sample
    if not math.isfinite(reference):
        value = (
            fit.response.height
            if fit.response.word == "wave"
            else Measured(value=0.0, u=fit.response.height.u)
        )
        return value, "response class"
    return read_at(
        trace.potential, fit.direction * trace.current, reference, fit.response.noise
    ), "response at the peak's potential"


def read_at(e: Any, y: Any, at: float, noise: float) -> Measured:
    """Mean within 15 mV of a potential, less the mean of the first sixth of the branch."""
    near = np.abs(e - at) <= 0.015
    if near.sum() < 2:
        return Measured(value=math.nan, why=f"the record does not reach {at:.3f} V")
    first = slice(max(y.size // 50, 1), max(y.size // 6, 6))
    level = float(np.mean(y[first]))
    scatter = float(np.std(y[first], ddof=1))
    u = math.hypot(scatter, noise / math.sqrt(int(near.sum())))
    return Measured(value=float(np.mean(y[near])) - level, u=u, why=f"read at {at:.3f} V")
