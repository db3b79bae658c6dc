"""What was deposited: charge, thickness, the metal seen against the metal paid for, and how nuclei grew."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from halfcell.errors import MethodError, Problem
from halfcell.pipeline.outcome import Exhibit, Outcome
from halfcell.pipeline.responds.traces import Trace, thin
from halfcell.pipeline.workers import Job
from halfcell.results import Measured
from halfcell.statistics.ratios import ratio
from halfcell.units import percent
from halfcell.voltammetry.loading import Loading, charge_of, loading
from halfcell.voltammetry.nucleation import Nucleation, fit_nucleation

if TYPE_CHECKING:
    from halfcell.finding import Finding, Findings
    from halfcell.pipeline.bench import Bench
    from halfcell.recording import Recording
    from halfcell.study.model import Run


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Deposition:
    """A deposition record: its charge, and the growth of nuclei or why it could not be judged."""

    charge: Measured
    growth: Nucleation | None
    refused: str
    trace: Trace
    fits: tuple[Trace, ...]


def fit_deposition(record: Recording, **inputs: Any) -> Deposition:
    """``inputs``: electrons, area, concentration, molar_mass, density, level."""
    if record.time is None:
        raise MethodError(
            "The file holds no time, which a deposition transient needs; name its column under [readers] in study.toml."
        )
    start = record.time - record.time[0]
    charge = charge_of(start, record.current)
    growth, refused = None, ""
    fits: tuple[Trace, ...] = ()
    try:
        growth = fit_nucleation(start, record.current, **inputs)
        fits = tuple(thin(growth.time, f.curve) for f in growth.fits)
    except MethodError as error:
        refused = str(error)
    return Deposition(
        charge=charge, growth=growth, refused=refused, trace=thin(start, abs(record.current)), fits=fits
    )


def metal(bench: Bench, findings: Findings) -> Outcome:
    """Findings and exhibits of what was deposited."""
    study = bench.study
    runs = {r.electrode: r for r in study.runs_of("deposition")}
    jobs = [
        Job(files=(bench.source(r),), inputs=_inputs(bench, r.electrode), about=r.file) for r in runs.values()
    ]
    results = dict(
        zip(runs, bench.crew.each(fit_deposition, jobs, what="Fitting deposition transients"), strict=True)
    )
    found: list[Finding] = []
    exhibits: list[Exhibit] = []
    problems = [
        Problem(file=runs[n].file, what=r.what, severity="warning")
        for n, r in results.items()
        if isinstance(r, Problem)
    ]
    for name in study.file.electrodes:
        result, run = results.get(name), runs.get(name)
        if isinstance(result, Deposition) and run is not None:
            found += _growth(bench, name, run, result)
            exhibits.append(_exhibit(bench, name, run, result))
        try:
            found += _paid(bench, findings, name, run, result if isinstance(result, Deposition) else None)
        except MethodError as error:
            problems.append(
                Problem(file="study.toml", place=f"electrodes.{name}", what=str(error), severity="warning")
            )
    return Outcome(findings=tuple(found), exhibits=tuple(exhibits), problems=tuple(problems))


def _inputs(bench: Bench, name: str) -> dict[str, Any]:
    made = bench.study.electrode(name)
    return {
        "electrons": made.deposition_electrons,
        "area": made.area,
        "concentration": bench.study.file.analysis.voltammetry.metal_ion.get(made.material),
        "molar_mass": made.molar_mass,
        "density": made.density,
        "level": bench.confidence,
    }


def _growth(bench: Bench, name: str, run: Run, result: Deposition) -> list[Finding]:
    growth = result.growth
    if growth is None:
        return []
    fit = growth.best()
    notes = tuple(
        f"{f.kind}: residual {f.misfit * 1e6:.3g} µA, correlation {f.correlation:.2f}" for f in growth.fits
    )
    doubt = (
        ("neither limit describes the transient",)
        if growth.neither
        else ()
        if growth.clear
        else ("not decided between the two limits",)
    )
    settings = {
        "charging": f"{fit.charging * 1e6:.3g} uA, {fit.decay:.3g} s",
        "background": f"{fit.background.value * 1e6:.3g} uA",
    }

    def one(term: str, measured: Measured, text: str = "", more: tuple[str, ...] = ()) -> Finding:
        return bench.finding(
            term,
            measured,
            method="growth of nuclei",
            electrode=name,
            runs=(run,),
            text=text,
            settings=settings,
            notes=more,
        )

    found = [
        one("growth_of_nuclei", Measured(value=growth.probability, why=""), growth.word, (*doubt, *notes))
    ]
    if math.isfinite(growth.density.value) and not growth.neither:
        found.append(one("nuclei_density", growth.density, more=doubt))
    return found


def _paid(
    bench: Bench, findings: Findings, name: str, run: Run | None, result: Deposition | None
) -> list[Finding]:
    made = bench.study.electrode(name)
    charge, notes = _charge(made.deposition_charge, result)
    if charge is None or made.deposition_electrons is None or made.molar_mass is None:
        return []
    efficiency = None if made.current_efficiency is None else Measured(value=made.current_efficiency)
    paid = loading(
        charge,
        electrons=made.deposition_electrons,
        molar_mass=made.molar_mass,
        area=made.area,
        density=made.density,
        efficiency=efficiency,
    )
    runs = () if run is None else (run,)

    def one(
        term: str, measured: Measured, method: str = "Faraday's law", more: tuple[str, ...] = ()
    ) -> Finding:
        return bench.finding(term, measured, method=method, electrode=name, runs=runs, notes=(*notes, *more))

    found = [one("deposition_charge", charge), one("moles_deposited", paid.amount_per_area)]
    if not findings.named("deposited_mass_per_area", electrode=name):
        found.append(one("metal_deposited", paid.mass_per_area))
    if math.isfinite(paid.thickness.value):
        found.append(one("nominal_thickness", paid.thickness))
    return found + _seen(bench, findings, name, paid, one)


def _charge(stated: float | None, result: Deposition | None) -> tuple[Measured | None, tuple[str, ...]]:
    if result is None:
        return (
            (None, ())
            if stated is None
            else (Measured(value=abs(stated), why="stated charge without an uncertainty"), ())
        )
    if stated is None:
        return result.charge, ("charge of the deposition record",)
    off = abs(stated) / result.charge.value - 1
    note = f"stated {abs(stated) * 1e3:.4g} mC, in the record {result.charge.value * 1e3:.4g} mC ({percent(off, 1, sign=True)})"
    return Measured(value=abs(stated), u=math.hypot(result.charge.u, abs(stated) - result.charge.value)), (
        note,
    )


def _seen(bench: Bench, findings: Findings, name: str, paid: Loading, one: Any) -> list[Finding]:
    seen = findings.named("metal_mass_per_area", electrode=name)
    if not seen or not math.isfinite(seen[0].value):
        return []
    above = seen[0].measured().times(1e-5)  # µg/cm² to kg/m²
    below = paid.mass_per_area
    if not math.isfinite(below.u):
        below = Measured(value=below.value, u=0.0, df=below.df)
    if not math.isfinite(above.u):
        return [
            one(
                "metal_seen_to_paid",
                Measured(value=above.value / below.value, why="the metal seen has no uncertainty"),
            )
        ]
    quotient = ratio(above, below, level=bench.confidence)
    low, high = quotient.interval.low, quotient.interval.high
    word = "agrees with" if 1.0 in quotient.interval else "is less than" if high < 1 else "is more than"
    limit = " (an upper limit, the efficiency not being stated)" if paid.limit else ""
    note = f"{low:.3g} to {high:.3g} at {percent(bench.confidence)} by Fieller's theorem: the metal seen {word} the metal paid for{limit}"
    return [one("metal_seen_to_paid", quotient.ratio, "ratio by Fieller's theorem", (note,))]


def _exhibit(bench: Bench, name: str, run: Run, result: Deposition) -> Exhibit:
    data: dict[str, Any] = {
        "time": result.trace.potential,
        "current": result.trace.current,
        "units": {"time": "s", "current": "A"},
    }
    growth = result.growth
    if growth is not None:
        data |= {
            "fit_time": result.fits[0].potential,
            "instantaneous": result.fits[0].current,
            "progressive": result.fits[1].current,
            "word": growth.word,
            "probability": growth.probability,
            "neither": growth.neither,
            "maximum": growth.maximum,
            "at": growth.at,
            "charging": growth.best().charging,
            "decay": growth.best().decay,
            "background": growth.best().background.value,
        }
    return Exhibit(
        kind="transient",
        key=f"transient {name}",
        title=f"Deposition on {name}",
        place="Responds",
        electrode=name,
        group=bench.study.group(name),
        recordings=(run.file,),
        data=data,
    )
