"""Dissolved oxygen in water that is in equilibrium with air."""

from __future__ import annotations

import math

from halfcell.errors import MethodError

_MOLAR_MASS = 31.998e-3
_ATMOSPHERE = 101325.0


def oxygen_in_air_saturated_water(
    temperature: float, *, salinity: float = 0.0, pressure: float = _ATMOSPHERE
) -> float:
    """Concentration in mol/m³ at ``temperature`` K, ``salinity`` g/kg, ``pressure`` Pa of moist air.

    Holds from 0 to 40 °C, 0 to 40 g/kg, half an atmosphere to a little over one. Raises MethodError outside.

    Source: Benson and Krause, Limnol. Oceanogr. 29 (1984) 620, in the form of APHA Standard Methods 4500-O
    (coefficients from memory; 8.263 mg/L at 25 °C in fresh water agrees with its printed table).
    """
    celsius = temperature - 273.15
    if not (0 <= celsius <= 40 and 0 <= salinity <= 40 and 0.5 <= pressure / _ATMOSPHERE <= 1.2):
        raise MethodError(
            f"The equation for oxygen in water holds from 0 to 40 °C and up to 40 g/kg of salt; asked for {celsius:.1f} °C, {salinity:g} g/kg, {pressure:g} Pa."
        )
    t = temperature
    logarithm = -139.34411 + 1.575701e5 / t - 6.642308e7 / t**2 + 1.243800e10 / t**3 - 8.621949e11 / t**4
    logarithm -= salinity * (0.017674 - 10.754 / t + 2140.7 / t**2)
    p = pressure / _ATMOSPHERE
    water = math.exp(11.8571 - 3840.70 / t - 216961 / t**2)
    theta = 0.000975 - 1.426e-5 * celsius + 6.436e-8 * celsius**2
    share = p * (1 - water / p) * (1 - theta * p) / ((1 - water) * (1 - theta))
    return math.exp(logarithm) * share / 1e3 / _MOLAR_MASS
