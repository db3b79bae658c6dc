"""What was found beside what is true, for every number of the demo study that has a truth."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from halfcell.units import factor

if TYPE_CHECKING:
    from halfcell.demo.truth import ElectrodeTruth, Truth
    from halfcell.finding import Finding, Findings


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """One number: found, its standard uncertainty and degrees of freedom, and the truth, in one unit."""

    name: str
    electrode: str
    condition: str
    found: float
    u: float
    df: float
    truth: float
    unit: str
    scatter: bool = False
    """Whether the number is a standard deviation times a constant, so that its square goes as chi-squared."""

    @property
    def z(self) -> float:
        """Difference over standard uncertainty, brought from Student's t to a standard normal."""
        from scipy import stats

        if self.scatter and math.isfinite(self.df):
            return float(stats.norm.ppf(stats.chi2.cdf(self.df * (self.found / self.truth) ** 2, self.df)))
        if not (math.isfinite(self.u) and self.u > 0):
            return math.nan
        t = (self.found - self.truth) / self.u
        if math.isinf(self.df) or self.df <= 0:
            return t

        # The tail on the side of t, so that a large t does not round to certainty.
        tail = float(stats.t.sf(abs(t), self.df))
        return math.copysign(float(stats.norm.isf(max(tail, 1e-300))), t)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Number:
    name: str
    si: str
    truth: Callable[[ElectrodeTruth, Finding], float | None]
    chosen: Callable[[Finding], bool] = lambda finding: True
    scatter: bool = False


def _peak(values: str) -> Callable[[ElectrodeTruth, Finding], float | None]:
    def of(truth: ElectrodeTruth, finding: Finding) -> float | None:
        known: tuple[float, ...] = getattr(truth, values)
        if not known:
            return None
        cycle = finding.settings.get("cycle")
        return known[min(int(cycle), len(known)) - 1] if cycle else known[-1]

    return of


def _scan_at_50(finding: Finding) -> bool:
    return any("_cv_1mM_50mVs." in path for path in finding.recordings)


def _oxygen(finding: Finding) -> bool:
    return "oxygen" in finding.condition


def _value(key: str) -> Callable[[ElectrodeTruth, Finding], float | None]:
    def of(truth: ElectrodeTruth, finding: Finding) -> float | None:
        known: float | None = getattr(truth, key)
        return known

    return of


def _slope(truth: ElectrodeTruth, finding: Finding) -> float | None:
    # A found sensitivity is positive in the direction of the response.
    return None if truth.sensitivity is None else abs(truth.sensitivity)


def _per_area(truth: ElectrodeTruth, finding: Finding) -> float | None:
    return None if truth.sensitivity is None else abs(truth.sensitivity) / truth.area


def _magnitude(truth: ElectrodeTruth, finding: Finding) -> float | None:
    """Sensitivities are reported positive in the direction of the response."""
    return None if truth.sensitivity is None else abs(truth.sensitivity)


NUMBERS = (
    _Number(name="double_layer_capacitance", si="F/m^2", truth=_value("capacitance")),
    _Number(name="peak_current", si="A", truth=_peak("peak_current"), chosen=_scan_at_50),
    _Number(name="peak_potential", si="V", truth=_peak("peak_potential"), chosen=_scan_at_50),
    _Number(name="scan_rate_exponent", si="1", truth=_value("scan_rate_exponent")),
    _Number(name="sensitivity", si="A/(mol/m^3)", truth=_magnitude),
    _Number(name="sensitivity_per_area", si="A/(mol/m^3)/m^2", truth=_per_area),
    _Number(name="limit_of_detection", si="mol/m^3", truth=_value("limit_of_detection"), scatter=True),
    _Number(name="false_concentration", si="mol/m^3", truth=_value("false_concentration"), chosen=_oxygen),
    _Number(name="response_time", si="s", truth=_value("response_time")),
    _Number(name="particle_diameter", si="m", truth=_value("particle_diameter")),
    _Number(name="size_spread", si="1", truth=_value("size_spread")),
    _Number(name="particle_density", si="1/m^2", truth=_value("particle_density")),
    _Number(name="coverage", si="1", truth=_value("coverage")),
)


def agreements(findings: Findings, truth: Truth) -> tuple[Agreement, ...]:
    """Every found number that has a truth, in the unit it was found in."""
    return tuple(_each(findings, truth))


def _each(findings: Findings, truth: Truth) -> Iterator[Agreement]:
    for number in NUMBERS:
        for finding in findings.named(number.name):
            known = truth.electrodes.get(finding.electrode)
            if known is None or not number.chosen(finding):
                continue
            value = number.truth(known, finding)
            if value is None:
                continue
            yield Agreement(
                name=number.name,
                electrode=finding.electrode,
                condition=finding.condition,
                found=finding.value,
                u=finding.standard_uncertainty,
                df=finding.degrees_of_freedom,
                truth=value * factor(number.si, finding.unit),
                unit=finding.unit,
                scatter=number.scatter,
            )
