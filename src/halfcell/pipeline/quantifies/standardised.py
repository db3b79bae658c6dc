"""The added solution as standardised: its concentration in place of the logs'."""

from __future__ import annotations

from typing import TYPE_CHECKING

from halfcell.calibration.stock import by_absorbance
from halfcell.results import Measured

if TYPE_CHECKING:
    from halfcell.finding import Finding
    from halfcell.pipeline.bench import Bench
    from halfcell.study.settings_amperometry import AmperometrySettings


def stock_of(settings: AmperometrySettings) -> Measured | None:
    """Concentration of the added solution in mol/m³ by its absorbance; None where it was not standardised."""
    given = settings.stock
    if given is None:
        return None
    found = by_absorbance(
        Measured(value=given.absorbance, u=given.absorbance_uncertainty),
        Measured(value=given.absorptivity, u=given.absorptivity * given.absorptivity_uncertainty),
        Measured(value=given.path, u=0.0),
    ).times(given.dilution)
    relative = (found.u / found.value) ** 2 + given.dilution_uncertainty**2
    return Measured(value=found.value, u=found.value * relative**0.5, df=found.df)


def relative_uncertainty(settings: AmperometrySettings) -> float:
    """Relative standard uncertainty of the added solution, shared by all levels."""
    stock = stock_of(settings)
    return settings.stock_uncertainty if stock is None else stock.u / stock.value


def stock_findings(bench: Bench) -> list[Finding]:
    """The standardised stock as a finding about the study."""
    settings = bench.study.file.analysis.amperometry
    stock = stock_of(settings)
    if stock is None or settings.stock is None:
        return []
    shown = {
        "absorbance": settings.stock.absorbance,
        "absorptivity / L/mol/cm": settings.stock.absorptivity * 10,
        "dilution": settings.stock.dilution,
    }
    return [
        bench.finding(
            "stock_concentration",
            stock,
            method="stock by absorbance",
            settings=shown,
            notes=(f"absorptivity from {settings.stock.absorptivity_source}",),
        )
    ]
