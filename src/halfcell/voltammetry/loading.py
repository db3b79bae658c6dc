"""Metal deposited from the charge passed: mass, amount and nominal thickness, by Faraday's law."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.constants import FARADAY
from halfcell.errors import MethodError
from halfcell.results import Measured, unknown
from halfcell.signals.time_order import must_not_fall

if TYPE_CHECKING:
    from numpy.typing import ArrayLike


@dataclass(frozen=True, slots=True, kw_only=True)
class Loading:
    """``mass`` kg, ``amount`` mol, and the same per geometric area with the ``thickness`` (m) of an even film.

    ``limit`` is True where the current efficiency is not known: the values are then upper limits.
    """

    mass: Measured
    amount: Measured
    mass_per_area: Measured
    amount_per_area: Measured
    thickness: Measured
    limit: bool


def loading(
    charge: Measured,
    *,
    electrons: int,
    molar_mass: float,
    area: float,
    density: float | None = None,
    efficiency: Measured | None = None,
) -> Loading:
    """m = eta Q M/(nF) (charge C, molar mass kg/mol, area m², density kg/m³).

    Raises MethodError for a charge, mass, area or number of electrons not above zero, or an efficiency
    outside 0 to 1. Source: Faraday's law.
    """
    if not (charge.value > 0 and electrons >= 1 and molar_mass > 0 and area > 0):
        raise MethodError(
            f"Faraday's law needs a charge, electrons, a molar mass and an area above zero; got {charge.value:g} C, {electrons}, {molar_mass:g} kg/mol, {area:g} m²."
        )
    if efficiency is not None and not 0 < efficiency.value <= 1:
        raise MethodError(f"A current efficiency lies between 0 and 1; it is {efficiency.value:g}.")
    eta = 1.0 if efficiency is None else efficiency.value
    relative = charge.u / charge.value
    if efficiency is not None and math.isfinite(efficiency.u):
        relative = math.hypot(relative, efficiency.u / eta)
    why = "upper limit: the current efficiency is not known" if efficiency is None else charge.why
    amount = Measured(
        value=eta * charge.value / (electrons * FARADAY),
        u=eta * charge.value / (electrons * FARADAY) * relative,
        df=charge.df,
        why=why,
    )
    mass = amount.times(molar_mass)
    return Loading(
        mass=mass,
        amount=amount,
        mass_per_area=mass.times(1 / area),
        amount_per_area=amount.times(1 / area),
        thickness=mass.times(1 / area / density) if density else unknown("the metal's density is not stated"),
        limit=efficiency is None,
    )


def charge_of(time: ArrayLike, current: ArrayLike) -> Measured:
    """Charge in C of a deposition record (sizes of the current; A, s) by the trapezoidal rule.

    The uncertainty has the noise and half the change when every second sample is left out.
    Raises MethodError for fewer than 5 samples and for time that falls back. ``time`` and ``current`` are (n,) arrays.
    """
    t, i = np.asarray(time, float), np.asarray(current, float)
    good = np.isfinite(t) & np.isfinite(i)
    t, i = t[good], i[good]
    if t.size < 5:
        raise MethodError(f"A charge needs at least 5 samples of time and current; there are {t.size}.")
    must_not_fall(t)
    whole = float(np.trapezoid(i, t))
    half = float(np.trapezoid(i[::2], t[::2]))
    if (t.size - 1) % 2:
        half += float(np.trapezoid(i[-2:], t[-2:]))
    noise = float(np.std(np.diff(i, 2)) / math.sqrt(6)) * float(np.median(np.diff(t))) * math.sqrt(t.size)
    return Measured(value=abs(whole), u=math.hypot(noise, (whole - half) / 2))


def spheres_per_mass(mass: float, *, diameter: float, density: float, hemispheres: bool = False) -> float:
    """Number of equal spheres (or hemispheres) of a diameter (m) in a mass (kg)."""
    volume = math.pi * diameter**3 / (12 if hemispheres else 6)
    return mass / density / volume
