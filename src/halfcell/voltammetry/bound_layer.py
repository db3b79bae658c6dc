"""A couple bound to the surface: coverage from the charge, and whether its wave has the ideal shape."""

from __future__ import annotations

import math
from dataclasses import dataclass

from halfcell.constants import FARADAY, STANDARD_TEMPERATURE, thermal_voltage
from halfcell.errors import MethodError
from halfcell.results import Measured, unknown
from halfcell.voltammetry.shapes import BOUND_WIDTH


@dataclass(frozen=True, slots=True, kw_only=True)
class BoundLayer:
    """``coverage`` Γ (mol/m²) from the charge; ``from_height`` Γ from i_p = n²F²vAΓ/4RT, which agrees for an ideal wave.

    ``width_ratio`` is the width over the ideal 3.525 RT/nF (90.6/n mV at 25 °C): above 1 neighbours repel
    or sites differ, below 1 they attract; ``ideal`` is whether 1 lies in its 95 % interval.
    """

    coverage: Measured
    from_height: Measured
    width_ratio: Measured
    ideal: bool


def bound_layer_wave(
    charge: Measured,
    height: Measured,
    width: Measured,
    *,
    rate: float,
    area: float,
    electrons: float = 1.0,
    temperature: float = STANDARD_TEMPERATURE,
) -> BoundLayer:
    """Analyse the wave of a bound couple (charge C, height A, full width at half height V, rate V/s, area m²).

    Bard & Faulkner, Electrochemical Methods, 2nd ed., 14.3 (from memory). Raises MethodError for an area or a scan
    rate that is not above zero.
    """
    if not (area > 0 and rate > 0 and electrons > 0):
        raise MethodError(
            f"Coverage needs an area, a scan rate and electrons above zero; got {area:g} m², {rate:g} V/s, {electrons:g}."
        )
    coverage = charge.times(1 / (electrons * FARADAY * area))
    per_height = 4 * thermal_voltage(temperature) / (electrons**2 * FARADAY * rate * area)
    if not math.isfinite(width.value):
        return BoundLayer(
            coverage=coverage,
            from_height=height.times(per_height),
            width_ratio=unknown(width.why),
            ideal=False,
        )
    ratio = width.times(electrons / (BOUND_WIDTH * thermal_voltage(temperature)))
    return BoundLayer(
        coverage=Measured(value=abs(coverage.value), u=coverage.u, df=coverage.df),
        from_height=Measured(value=abs(height.value) * per_height, u=height.u * per_height, df=height.df),
        width_ratio=ratio,
        ideal=1.0 in ratio.interval(0.95),
    )
