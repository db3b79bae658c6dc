"""The added solution as standardised, diluted and decayed: its concentration in place of the logs'."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from halfcell.calibration.stock import by_absorbance, by_titration, decayed, diluted
from halfcell.errors import Problem
from halfcell.results import Interval, Measured, coverage_factor, effective_df

if TYPE_CHECKING:
    from halfcell.finding import Finding
    from halfcell.pipeline.bench import Bench
    from halfcell.pipeline.quantifies.logs import Log
    from halfcell.study.settings_amperometry import AmperometrySettings, Stock

_METHODS = {
    "absorbance": "stock by absorbance",
    "titration": "stock by titration",
    "stated concentration": "stock as stated",
}


def stock_of(settings: AmperometrySettings) -> Measured | None:
    """Concentration of the added solution in mol/m³; None where the study does not standardise it."""
    given = settings.stock
    return None if given is None else _added(given, _standardised(given))


def of_stock(
    stock: Measured | None, logs: dict[str, Log | None], problems: list[Problem]
) -> dict[str, Log | None]:
    """The logs by name, their concentrations scaled so that the strongest solution of all of them is the stock.

    Weaker ones were made from it. A log that lists only such, and a stock far from what was written, are told.
    """
    strongest = {name: max(log.concentrations) for name, log in logs.items() if log is not None}
    written = max(strongest.values(), default=0.0)
    if stock is None or written <= 0:
        return logs
    scale = stock.value / written
    if abs(scale - 1) > 0.2:
        what = f"the solution added is {stock.value:.4g} mmol/L by this, but {written:.4g} mmol/L in the addition logs; all their concentrations are taken times {scale:.4g}."
        problems.append(Problem(file="study.toml", place="analysis.amperometry.stock", what=what, severity="warning"))  # fmt: skip
    for name, own in strongest.items():
        if not math.isclose(own, written, rel_tol=1e-6):
            what = f"its strongest solution, {own:.4g} mmol/L, is taken as made from the stock, which is {written:.4g} mmol/L in other logs of the study."
            example = "where it was the stock itself, write the stock's concentration in this log"
            problems.append(Problem(file=name, what=what, example=example, severity="warning"))
    return {
        name: log and replace(log, concentrations=tuple(c * scale for c in log.concentrations))
        for name, log in logs.items()
    }


def relative_uncertainty(settings: AmperometrySettings, kind: str = "additions") -> float:
    """Relative standard uncertainty of the added solution, which all levels of additions share; 0 for other records."""
    if kind != "additions":
        return 0.0
    stock = stock_of(settings)
    return settings.stock_uncertainty if stock is None else stock.u / stock.value


def shared(bench: Bench, kind: str) -> float:
    """The same for the study's bench."""
    return relative_uncertainty(bench.study.file.analysis.amperometry, kind)


def with_stock(number: Measured, relative: float) -> Measured:
    """A number proportional to the stock (or to its inverse) with the stock's relative uncertainty added to its own.

    Source: JCGM 100:2008, 5.1.6 and G.4.1.
    """
    own, stock = number.u, abs(number.value) * relative
    if relative == 0 or not (math.isfinite(own) and math.isfinite(stock)):
        return number
    df = effective_df([(own, number.df), (stock, math.inf)])
    return Measured(value=number.value, u=math.hypot(own, stock), df=df, why=number.why)


def widened(interval: Interval, value: float, relative: float) -> Interval:
    """An interval of a number proportional to the stock, each end moved out by the stock's part in quadrature.

    Source: recovery of variance estimates from both limits (from memory), the stock's error taken as normal.
    """
    if relative == 0 or not math.isfinite(value):
        return interval
    part = coverage_factor(interval.level, math.inf) * relative * abs(value)
    low = value - math.hypot(value - interval.low, part)
    return Interval(
        low=max(low, 0.0) if interval.low >= 0 else low,  # a factor cannot change a sign
        high=value + math.hypot(interval.high - value, part),
        level=interval.level,
        method=interval.method,
    )


def stock_findings(bench: Bench) -> list[Finding]:
    """The standardised stock, and what is left of it after dilutions and decay, as findings about the study."""
    given = bench.study.file.analysis.amperometry.stock
    if given is None:
        return []
    stock = _standardised(given)
    shown, source = _shown(given)
    found = [
        bench.finding(
            "stock_concentration", stock, method=_METHODS[given.way], settings=shown, notes=(source,)
        )
    ]
    if not given.dilutions and given.half_life is None:
        return found
    settings: dict[str, Any] = {
        "dilutions / mL": [[s.taken * 1e6, s.made_up_to * 1e6] for s in given.dilutions]
    }
    if given.half_life is not None and given.decayed_for is not None:
        settings |= {"half-life / h": given.half_life / 3600, "decayed for / h": given.decayed_for / 3600}
    added = _added(given, stock)
    return [
        *found,
        bench.finding("added_concentration", added, method="stock diluted and decayed", settings=settings),
    ]


def _relative(value: float | None, relative: float | None) -> Measured:
    # The model has seen to it that the keys of the way chosen are all there.
    assert value is not None
    assert relative is not None
    return Measured(value=value, u=value * relative)


def _standardised(given: Stock) -> Measured:
    if given.way == "titration":
        return by_titration(
            _relative(given.titrant, given.titrant_uncertainty),
            _relative(given.titrant_volume, given.titrant_volume_uncertainty),
            _relative(given.titrated_volume, given.titrated_volume_uncertainty),
            ratio=given.ratio,
        )
    if given.absorbance is None:
        return _relative(given.concentration, given.concentration_uncertainty)
    found = by_absorbance(
        Measured(value=given.absorbance, u=given.absorbance_uncertainty),
        _relative(given.absorptivity, given.absorptivity_uncertainty),
        Measured(value=given.path, u=0.0),
    ).times(given.dilution)
    return with_stock(found, given.dilution_uncertainty)


def _added(given: Stock, stock: Measured) -> Measured:
    steps = [
        (_relative(s.taken, s.taken_uncertainty), _relative(s.made_up_to, s.made_up_to_uncertainty))
        for s in given.dilutions
    ]
    found = diluted(stock, steps)
    if given.half_life is None or given.decayed_for is None:
        return found
    rate = _relative(math.log(2) / given.half_life, given.half_life_uncertainty)
    return decayed(found, rate, given.decayed_for)


def _shown(given: Stock) -> tuple[dict[str, Any], str]:
    """What the stock was worked out from, and where it is from."""
    if given.absorptivity is not None:
        shown = {
            "absorbance": given.absorbance,
            "absorptivity / L/mol/cm": given.absorptivity * 10,
            "dilution": given.dilution,
        }
        return shown, f"absorptivity from {given.absorptivity_source}"
    if given.titrant_volume is not None and given.titrated_volume is not None:
        shown = {
            "titrant / mM": given.titrant,
            "titrant / mL": given.titrant_volume * 1e6,
            "titrated / mL": given.titrated_volume * 1e6,
            "analyte to titrant": given.ratio,
        }
        return shown, f"titrant from {given.titrant_source}"
    return {}, f"concentration from {given.concentration_source}"
