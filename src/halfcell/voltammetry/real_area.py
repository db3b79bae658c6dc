"""Real area from the charge of a monolayer over a named charge density."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Measured
from halfcell.signals.branch import Branch
from halfcell.signals.noise import record_noise


@dataclass(frozen=True, slots=True, kw_only=True)
class ChargeDensity:
    """Charge of a monolayer per real area, C/m², with its standard uncertainty and source."""

    name: str
    density: float
    u: float
    source: str


CHARGE_DENSITIES = {
    c.name: c
    for c in (
        ChargeDensity(
            name="hydrogen on platinum", density=2.10, u=0.10, source="210 µC/cm², common usage; Trasatti & Petrii, Pure Appl. Chem. 1991, 63, 711 (number from memory)"
        ),
        ChargeDensity(name="carbon monoxide on platinum", density=4.20, u=0.20, source="420 µC/cm², common usage"),
        ChargeDensity(name="oxide on gold", density=3.90, u=0.10, source="390 ± 10 µC/cm² (from memory; 400 is used as well)"),
        ChargeDensity(name="oxide on palladium", density=4.24, u=0.20, source="424 µC/cm² (from memory)"),
    )
}  # fmt: skip
"""Charge densities of polycrystalline metals in use; none is exact, and another may be stated."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RealArea:
    """``area`` m²; ``charge`` C above the double layer's; ``charging`` A, the level taken off."""

    area: Measured
    roughness: Measured
    charge: Measured
    charging: Measured
    density: ChargeDensity
    window: tuple[float, float]


def monolayer_area(
    branch: Branch,
    *,
    rate: float,
    window: tuple[float, float],
    density: ChargeDensity,
    geometric: float,
    double_layer: tuple[float, float] | None = None,
    capacitance: Measured | None = None,
) -> RealArea:
    """Charge between two potentials above the charging current, over the charge of a monolayer.

    Parameters
    ----------
    branch : Branch
        The branch that holds the process.
    rate : float
        V/s.
    window : pair of V
        From where to where the monolayer's charge is counted.
    geometric : float
        Geometric area, m², for the roughness.
    double_layer : pair of V, optional
        Where only charging is seen, to take its level from; else ``capacitance`` (F) times the scan rate.

    Raises
    ------
    MethodError
        A scan rate or an area not above zero, windows outside the branch, neither of the two for the double
        layer, or a charge that is not above zero.

    Notes
    -----
    The uncertainty has the noise, the level of the charging current, and the charge density's. The area so
    found is that of the metal's surface atoms; a diffusing probe sees another one. Method: Trasatti &
    Petrii, Pure Appl. Chem. 1991, 63, 711 (from memory).
    """
    if not (rate > 0 and geometric > 0):
        raise MethodError(
            f"A real area needs a scan rate and a geometric area above zero; got {rate:g} V/s and {geometric:g} m²."
        )
    e, y = branch.potential, branch.direction * branch.current
    low, high = sorted(window)
    mask = (e >= low) & (e <= high)
    if mask.sum() < 5 or low < e.min() - 1e-9 or high > e.max() + 1e-9:
        raise MethodError(
            f"The window {low:.3f} to {high:.3f} V is not inside the branch, which runs from {e.min():.3f} to {e.max():.3f} V."
        )
    noise = record_noise(y)
    level = _level(e, y, double_layer, capacitance, rate, noise.sigma)
    span = high - low
    total = abs(float(np.trapezoid(y[mask], e[mask])))
    charge = (total - level.value * span) / rate
    step = span / int(mask.sum())
    u = (
        math.hypot(
            noise.sigma * step * math.sqrt(int(mask.sum()) * (1 + noise.rho) / (1 - noise.rho)),
            level.u * span,
        )
        / rate
    )
    if not charge > 0:
        raise MethodError(
            f"No charge above the double layer's is left between {low:.3f} and {high:.3f} V ({charge:.3g} C)."
        )
    relative = math.hypot(u / charge, density.u / density.density)
    area = Measured(value=charge / density.density, u=charge / density.density * relative)
    return RealArea(
        area=area,
        roughness=area.times(1 / geometric),
        charge=Measured(value=charge, u=u),
        charging=level,
        density=density,
        window=(low, high),
    )


def _level(
    e: np.ndarray,
    y: np.ndarray,
    double_layer: tuple[float, float] | None,
    capacitance: Measured | None,
    rate: float,
    sigma: float,
) -> Measured:
    if double_layer is not None:
        a, b = sorted(double_layer)
        inside = (e >= a) & (e <= b)
        if inside.sum() < 5:
            raise MethodError(
                f"The double-layer window {a:.3f} to {b:.3f} V holds {int(inside.sum())} samples; it needs 5."
            )
        # What the level changes by over the window is what it may change by up to the process.
        slope = float(np.polyfit(e[inside], y[inside], 1)[0]) * (b - a)
        return Measured(
            value=float(y[inside].mean()),
            u=math.hypot(sigma / math.sqrt(int(inside.sum())), slope / math.sqrt(12)),
        )
    if capacitance is None:
        raise MethodError(
            "The double layer must be taken off: name a window where only charging is seen, or a capacitance."
        )
    return capacitance.times(rate)
