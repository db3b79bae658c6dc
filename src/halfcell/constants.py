"""Physical constants: exact ones first, measured ones after, each with its source.

Source: CODATA 2018 recommended values and the SI (2019), in which e, k and N_A are exact,
so that F and R are exact as well (printed digits: 12).
"""

from __future__ import annotations

FARADAY = 96485.33212
"""Faraday constant, C/mol (exact in the SI of 2019; rounded to 10 digits)."""

GAS_CONSTANT = 8.314462618
"""Molar gas constant, J/(mol K) (exact in the SI of 2019; rounded to 10 digits)."""

AVOGADRO = 6.02214076e23
"""Avogadro constant, 1/mol (exact)."""

ZERO_CELSIUS = 273.15
"""0 °C in kelvin (exact by definition)."""

STANDARD_TEMPERATURE = 298.15
"""25 °C in kelvin."""


def thermal_voltage(temperature: float = STANDARD_TEMPERATURE) -> float:
    """RT/F in V at a temperature in K (25.6926 mV at 25 °C)."""
    return GAS_CONSTANT * temperature / FARADAY
