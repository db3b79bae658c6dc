"""A calibration to findings and an exhibit."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.calibration.limits import NEEDS
from halfcell.pipeline.quantifies.alternatives import alternatives
from halfcell.pipeline.quantifies.standardised import shared, widened, with_stock
from halfcell.results import Measured, unknown
from halfcell.statistics.ratios import ratio
from halfcell.units import factor

if TYPE_CHECKING:
    from halfcell.calibration.limits import Limit
    from halfcell.finding import Finding, Findings
    from halfcell.pipeline.bench import Bench
    from halfcell.pipeline.quantifies.lines import Fitted

_KIND = {
    "decision": "decision_limit",
    "detection": "detection_limit",
    "quantification": "quantification_limit",
}

_SHARED = "relative uncertainty of the added solution, in all levels alike"


def merits(bench: Bench, findings: Findings, f: Fitted) -> list[Finding]:
    """Every figure of merit of one calibration."""
    c, line = f.calibration, f.calibration.line
    about: dict[str, Any] = {"electrode": f.electrode, "condition": f.condition, "runs": f.runs}
    stock = shared(bench, f.kind)
    settings = _settings(f) | ({_SHARED: stock} if stock else {})
    slope = with_stock(line.slope.times(f.direction), stock)
    notes = tuple(c.notes) + tuple(f"rejected {p.level * 1e3:g} µmol/L: {p.rejected}" for p in f.rejected)
    out = [
        bench.finding(
            "sensitivity", slope, method="calibration line", settings=settings, notes=notes, **about
        ),
        bench.finding("intercept", line.intercept, method="calibration line", settings=settings, **about),
        bench.finding("residual_sd", _residual(f), method="calibration line", settings=settings, **about),
    ]
    area = bench.study.electrode(f.electrode).area
    out.append(
        bench.finding(
            "sensitivity_per_area",
            slope.times(1 / area),
            method="sensitivity per area",
            settings=settings | {"area / cm^2": area * 1e4},
            **about,
        )
    )
    out += _per(bench, findings, f, slope, about)
    out += _range(bench, f, settings, about)
    out += alternatives(bench, f, settings, about)
    if f.main:
        out += _limits(bench, f, settings, about)
    return out


def _settings(f: Fitted) -> dict[str, Any]:
    line = f.calibration.line
    return {
        "records": f.kind,
        "direction": "anodic" if f.direction > 0 else "cathodic",
        "weights": f.calibration.weights,
        "points": line.n,
        "levels": int(np.unique(line.x).size),
        "r2": line.r2,
        "p of slope": f.calibration.p_slope,
        "intercept differs from zero": not f.calibration.intercept_is_zero,
    } | _beside(f)


def _beside(f: Fitted) -> dict[str, Any]:
    """The robust slope and the comparison of models, for who wants to look."""
    c = f.calibration
    out: dict[str, Any] = {}
    if c.robust is not None:
        out["robust slope / uA/(mmol/L)"] = c.robust.slope * 1e6 * f.direction
    if c.models is not None:
        out["best model by AICc"] = c.models.best
        out["AICc above the best"] = {
            m.name: round(c.models.delta(m.name), 2) for m in c.models.candidates if math.isfinite(m.aicc)
        }
    return out


def _residual(f: Fitted) -> Measured:
    from halfcell.statistics.noncentral import sd_interval, symmetric_u

    line = f.calibration.line
    shown = sd_interval(line.residual_sd, line.df) if line.residual_sd > 0 else None
    u = symmetric_u(line.residual_sd, shown, line.df) if shown else math.nan
    return Measured(value=line.residual_sd, u=u, df=line.df)


def _per(
    bench: Bench, findings: Findings, f: Fitted, slope: Measured, about: dict[str, Any]
) -> list[Finding]:
    out = []
    made = bench.study.electrode(f.electrode)
    real = findings.named("real_area", electrode=f.electrode)
    if real:
        found = ratio(slope, _si(real[0], "m^2"), level=bench.confidence)
        out.append(
            bench.finding(
                "sensitivity_per_real_area", found.ratio, method="sensitivity per real area", **about
            )
        )
    mass = findings.named("metal_mass_per_area", electrode=f.electrode)
    if mass and mass[0].value > 0:
        metal = _si(mass[0], "kg/m^2").times(made.area)
        if not math.isfinite(metal.u):
            metal = Measured(value=metal.value, u=0.0)
        found = ratio(slope, metal, level=bench.confidence)
        out.append(bench.finding("sensitivity_per_mass", found.ratio, method="sensitivity per mass", **about))
    return out


def _si(finding: Finding, unit: str) -> Measured:
    return finding.measured().times(factor(finding.unit, unit))


def _range(bench: Bench, f: Fitted, settings: dict[str, Any], about: dict[str, Any]) -> list[Finding]:
    span = f.calibration.range
    if span is None:
        word, p = "untested" if not f.calibration.notes else "bent", math.nan
        low, high = float(f.calibration.line.x.min()), float(f.calibration.line.x.max())
        why = (
            "there are too few levels to look for a linear range; the ends are those of the levels measured"
            if word == "untested"
            else "no span of levels is straight; the ends are those of the levels measured"
        )
    else:
        word, p, low, high = "straight" if span.whole else "bent", span.p_whole, span.low, span.high
        why = "an end is a level that was measured; its uncertainty is the distance to the next level"
    tests = {t.name: t.p if math.isfinite(t.p) else t.why for t in f.calibration.tests}
    return [
        bench.finding(
            "linearity",
            Measured(value=p),
            text=word,
            method="linear range",
            settings=settings | tests,
            **about,
        ),
        bench.finding(
            "linear_range_low",
            Measured(value=low, why=why),
            method="linear range",
            settings={"rule": span.rule if span else ""},
            **about,
        ),
        bench.finding(
            "linear_range_high",
            Measured(value=high, why=why),
            method="linear range",
            settings={"rule": span.rule if span else ""},
            **about,
        ),
    ]


def _limits(bench: Bench, f: Fitted, settings: dict[str, Any], about: dict[str, Any]) -> list[Finding]:
    c = f.calibration
    wanted = bench.study.file.analysis.calibration.limit
    there = {r.definition for r in (c.limits.rows if c.limits else ())}
    method = wanted if wanted in there else "ICH Q2, residuals"
    instead: tuple[str, ...] = ()
    if wanted not in there and c.limits is not None:
        why = c.limits.missing.get(wanted, "there is no such definition")
        instead = (f"the study asks for the limit by {wanted}, which cannot be had here: {why}",)
    if c.limits is None:
        return [
            bench.finding(
                name, unknown(c.why_no_limits), method="ICH Q2, residuals", settings=settings, **about
            )
            for name in ("limit_of_detection", "limit_of_quantification")
        ]
    out = []
    for row in (_with_stock(r, shared(bench, f.kind)) for r in c.limits.rows):
        told = {**about, "condition": row.definition}
        out.append(
            bench.finding(
                _KIND[row.kind],
                _bounded(row),
                method=row.definition,
                settings=_limit_settings(row),
                notes=_limit_notes(row),
                **told,
            )
        )
        same: dict[str, Any] = {
            "method": row.definition,
            "settings": _limit_settings(row),
            "notes": (*_limit_notes(row), *instead),
        }
        out += [bench.finding(name, _bounded(row), **same, **about) for name in _headline(row, method)]
    return out


def _headline(row: Limit, method: str) -> list[str]:
    names = []
    if row.definition == method and row.kind == "detection":
        names.append("limit_of_detection")
    if row.definition == method and row.kind == "quantification":
        names.append("limit_of_quantification")
    if row.definition == "ISO 11843-2":
        names.append("decision_limit_iso" if row.kind == "decision" else "detection_limit_iso")
    return names


def _with_stock(row: Limit, stock: float) -> Limit:
    value, ends = with_stock(row.value, stock), widened(row.interval, row.value.value, stock)
    return replace(row, value=value, interval=ends)


def _bounded(row: Limit) -> Measured:
    if math.isfinite(row.value.value):
        if math.isfinite(row.value.u):
            return row.value
        return Measured(
            value=row.value.value,
            df=row.value.df,
            why="its interval has no upper end: the slope is too poorly known",
        )
    return unknown("the slope is too poorly known for this limit")


def _limit_settings(row: Limit) -> dict[str, Any]:
    scale = factor("mol/m^3", "umol/L")
    return {
        "interval low": row.interval.low * scale,
        "interval high": row.interval.high * scale,
        "level": row.interval.level,
        "interval by": row.interval.method,
        "needs": [NEEDS[n] for n in row.needs],
        "fails": [NEEDS[n] for n in row.fails],
    }


def _limit_notes(row: Limit) -> tuple[str, ...]:
    out = [f"does not hold here: {NEEDS[n]}" for n in row.fails]
    return tuple([row.note, *out] if row.note else out)
