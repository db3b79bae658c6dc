from __future__ import annotations

import math

import numpy as np
import pytest

from halfcell.errors import UnitError
from halfcell.units import factor, is_unit, number, parse, pretty, with_uncertainty


@pytest.mark.parametrize(
    ("unit", "to", "expected"),
    [
        ("mV", "V", 1e-3),
        ("mV/s", "V/s", 1e-3),
        ("V s-1", "V/s", 1.0),
        ("cm^2", "m^2", 1e-4),
        ("cm²", "m^2", 1e-4),
        ("uA/cm^2", "A/m^2", 1e-2),
        ("µA cm-2", "A/m^2", 1e-2),
        ("μA·cm⁻²", "A/m^2", 1e-2),
        ("A/cm2", "A/m^2", 1e4),
        ("mol m-3", "mol/m^3", 1.0),
        ("mmol/L", "mol/m^3", 1.0),
        ("mM", "mol/m^3", 1.0),
        ("uM", "mol/m^3", 1e-3),
        ("nM", "mol/m^3", 1e-6),
        ("M", "mol/m^3", 1e3),
        ("µmol/L", "mol/m^3", 1e-3),
        ("kΩ", "ohm", 1e3),
        ("percent", "1", 1e-2),
        ("%", "1", 1e-2),
        ("min", "s", 60.0),
        ("mAh", "C", 3.6),
        ("uA/(mmol/L)", "A/(mol/m^3)", 1e-6),
        ("uA/(mmol/L)/cm^2", "A/(mol/m^3)/m^2", 1e-2),
        ("g/mol", "kg/mol", 1e-3),
        ("ug/cm^2", "kg/m^2", 1e-5),
    ],
)
@pytest.mark.reference(
    "unit conversions",
    "SI Brochure, 9th edition (2019): prefixes, litre, minute, hour are exact by definition",
    "derived",
)
def test_factors_are_those_of_the_definitions(unit: str, to: str, expected: float) -> None:
    assert factor(unit, to) == pytest.approx(expected, rel=1e-12)


UNITS = [
    "V", "mV", "uV", "A", "nA", "kA", "uA/cm^2", "mA cm^-2", "A/m^2", "V/s", "mV/s", "s", "min", "h", "ms", "mol/L", "umol/L", "mmol/m^3", "mol/m^3",
    "M", "mM", "nM", "m", "nm", "cm", "dm^3", "L", "mL", "uL", "cm^2", "um^2", "1/um^2", "F", "uF/cm^2", "C", "mC", "uC/cm^2", "ohm", "kohm", "Mohm",
    "K", "Hz", "1/s", "percent", "1", "g/mol", "kg/mol", "g/cm^3", "ug", "kg", "uA/(mmol/L)/cm^2", "A/(mol/m^3)/m^2", "A*s", "V*A*s", "uA/mM", "cm^2/s",
    "A/V", "C/s", "l", "F*V", "1/(ohm*cm)", "mol", "g", "MHz",
]  # fmt: skip


@pytest.mark.reference(
    "every pair of the units known by heart", "pint, a general library of units", "recomputed"
)
def test_units_known_by_heart_are_those_of_the_library() -> None:
    from halfcell._common_units import size_of
    from halfcell.units import _registry

    registry = _registry()
    pairs = 0
    for one in UNITS:
        assert size_of(one) is not None, one
        for two in UNITS:
            first, second = registry.Quantity(1.0, one), registry.Quantity(1.0, two)
            if first.is_compatible_with(second):
                pairs += 1
                assert factor(one, two) == pytest.approx(first.to(second).magnitude, rel=1e-12), (one, two)
            else:
                with pytest.raises(UnitError):
                    factor(one, two)
    assert pairs > 2 * len(UNITS)


@pytest.mark.parametrize(
    "unit", ["degC", "cal", "mAh", "V/(s", "V//s", "eV", "cV", "inch", "m)", "", "V^x", "2 V", "*V"]
)
def test_the_rest_is_left_to_the_library(unit: str) -> None:
    from halfcell._common_units import size_of

    assert size_of(unit) is None


def test_kinds() -> None:
    assert is_unit("mV", "V")
    assert not is_unit("mV", "A")
    assert not is_unit("furlongs per", "V")
    assert not is_unit("mV", "V/s")


@pytest.mark.parametrize(
    ("text", "to", "expected"),
    [
        ("50 mV/s", "V/s", 0.05),
        ("0,071 cm^2", "m^2", 7.1e-6),
        ("-0.65V", "V", -0.65),
        ("+1e-3 mol/L", "mol/m^3", 1.0),
        ("1.9e-5 cm^2/s", "m^2/s", 1.9e-9),
        (".5 V", "V", 0.5),
        ("25 degC", "K", 298.15),
        ("25 °C", "K", 298.15),
        ("298.15 K", "K", 298.15),
        ("77 degF", "K", 298.15),
        ("3", "1", 3.0),
        ("5 %", "1", 0.05),
    ],
)
def test_parse(text: str, to: str, expected: float) -> None:
    assert parse(text, to, example="x") == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    "text",
    [
        "0.05",
        "0.05 ",
        0.05,
        5,
        True,
        None,
        "mV",
        "",
        "fifty mV/s",
        "1e999 V/s",
        "5 mV",
        "5 mV/s/s",
        "5 __import__('os')",
        "nan V/s",
        "5 V/s; 3",
    ],
)
def test_what_is_no_quantity_is_refused_with_an_example(text: object) -> None:
    with pytest.raises(UnitError, match="50 mV/s"):
        parse(text, "V/s", example="50 mV/s")


@pytest.mark.parametrize(
    ("unit", "shown"),
    [
        ("uA/(mmol/L)/cm^2", "µA mM⁻¹ cm⁻²"),
        ("uA/(mmol/L)", "µA mM⁻¹"),
        ("umol/L", "µM"),
        ("uF/cm^2", "µF cm⁻²"),
        ("1/um^2", "µm⁻²"),
        ("V/s", "V s⁻¹"),
        ("percent", "%"),
        ("1", ""),
        ("", ""),
        ("nm", "nm"),
    ],
)
def test_pretty(unit: str, shown: str) -> None:
    assert pretty(unit) == shown


@pytest.mark.parametrize(
    ("value", "u", "shown"),
    [
        (12.3456, 0.42, "12.35 ± 0.42"),
        (12345.6, 420.0, "12350 ± 420"),
        (-0.0012345, 0.000012, "−0.001234 ± 0.000012"),
        (5.0, math.nan, "5.00"),
        (0.0, 0.1, "0.00 ± 0.10"),
        (1.2346e-7, 0.012e-7, "(1.235 ± 0.012)×10⁻⁷"),
        (-3.456e9, 2.0e8, "(−3.46 ± 0.20)×10⁹"),
    ],
)
@pytest.mark.reference(
    "a value is rounded to two digits of its uncertainty", "JCGM 100:2008 (GUM), 7.2.6", "from memory"
)
def test_values_with_their_uncertainty(value: float, u: float, shown: str) -> None:
    assert with_uncertainty(value, u) == shown


def test_numbers() -> None:
    assert number(math.nan) == "–"
    assert number(-math.inf) == "−∞"
    assert number(1.23456e-7) == "1.23×10⁻⁷"
    assert number(0.0) == "0"
    assert with_uncertainty(3.14159, 0.02, "uA") == "3.142 ± 0.020 µA"


def test_a_shown_number_reads_back_within_its_rounding() -> None:
    rng = np.random.default_rng(5)
    back = str.maketrans("−⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "--0123456789")
    for value in rng.normal(size=200) * 10.0 ** rng.integers(-9, 9, 200):
        u = abs(value) * 10 ** rng.uniform(-4, 1)
        shown = number(float(value), float(u)).translate(back).replace("×10", "e")
        assert abs(float(shown) - value) <= 0.051 * u


@pytest.mark.parametrize("text", ["46 mg/L", "1 ppm", "3 g/m^3"])
def test_a_mass_where_an_amount_is_needed_is_told_what_to_do(text: str) -> None:
    with pytest.raises(UnitError, match="divide a mass by the molar mass"):
        parse(text, "mol/m^3", example="1 mmol/L")


@pytest.mark.parametrize("text", ["1,000 umol/L", "25,000 nmol/L", "-1,500 umol/L"])
def test_a_comma_that_may_part_thousands_is_asked_about(text: str) -> None:
    with pytest.raises(UnitError, match="decimals or in thousands"):
        parse(text, "mol/m^3", example="1 mmol/L")


@pytest.mark.parametrize(
    ("text", "value"),
    [("0,071 cm^2", 7.1e-6), ("1,5 cm^2", 1.5e-4), ("0,125 cm^2", 1.25e-5), ("1,2500 cm^2", 1.25e-4)],
)
def test_a_plain_decimal_comma_is_understood(text: str, value: float) -> None:
    assert parse(text, "m^2", example="1 cm^2") == pytest.approx(value)
