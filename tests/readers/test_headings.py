"""Headings as they are met: name, unit and role. The spellings are common practice, no source."""

from __future__ import annotations

import pytest

from halfcell import units
from halfcell.readers.headings import SI, parse, role_of, unit_of

KNOWN = [
    ("E / V", "potential", "V"),
    ("Potential (mV)", "potential", "mV"),
    ("i(uA)", "current", "uA"),
    ("I /uA", "current", "uA"),
    ("t/s", "time", "s"),
    ("µA", "current", "uA"),
    ("j / uA cm-2", "current", "uA/cm^2"),
    ("A/cm2", "current", "A/cm^2"),
    ("j/mA·cm⁻²", "current", "mA/cm^2"),
    ("Current density (mA/cm^2)", "current", "mA/cm^2"),
    ("j [A m-2]", "current", "A/m^2"),
    ("Working Electrode vs. NHE (V)", "potential", "V"),
    ("E (V vs. Ag/AgCl)", "potential", "V"),
    ("E vs Ag/AgCl / V", "potential", "V"),
    ("V RHE", "potential", "V"),
    ("E/V vs. RHE", "potential", "V"),
    ("Spannung U in V", "potential", "V"),
    ("Strom [nA]", "current", "nA"),
    ("Zeit (min)", "time", "min"),
    ("time_s", "time", "s"),
    ("E_mV", "potential", "mV"),
    ("Elapsed time, sec", "time", "s"),
    ("Current uA", "current", "uA"),
    ("current (microamps)", "current", "uA"),
    ("potential in millivolts", "potential", "mV"),
    ('"I (pA)"', "current", "pA"),
    ("# E/V", "potential", "V"),
    ("I forward / uA", "forward", "uA"),
    ("I reverse / uA", "backward", "uA"),
    ("Δi (µA)", "current", "uA"),
    ("Cycle", "cycle", ""),
    ("Scan number", "cycle", ""),
    ("Q/C", "charge", "C"),
    ("E", "potential", ""),
    ("j", "current", ""),
    ("t", "time", ""),
    ("V", "potential", "V"),
]


@pytest.mark.parametrize(("text", "role", "unit"), KNOWN, ids=[k[0] for k in KNOWN])
def test_role_and_unit(text: str, role: str, unit: str) -> None:
    heading = parse(text)
    assert (role_of(heading)[0], heading.unit) == (role, unit)
    if unit:
        assert units.factor(heading.unit, SI[heading.kind]) > 0


@pytest.mark.parametrize(
    "text",
    [
        "Index", "Z' (ohm)", "freq/Hz", "Scan rate / V/s", "scan rate (mV/s)", "Temperature (°C)", "mA mF-1", "Power (W)", "pH", "ML_074", "",
        "peak current / uA", "2024", "Comment",
    ],
)  # fmt: skip
def test_what_is_neither_potential_nor_current_nor_time_has_no_role(text: str) -> None:
    assert role_of(parse(text))[0] == ""


@pytest.mark.parametrize("text", ["volume", "sample", "am", "x", "12", "A/V", "mol", "Vs", "m/s", "kg"])
def test_what_is_no_unit_of_ours(text: str) -> None:
    assert unit_of(text) is None


def test_an_unknown_unit_is_noticed() -> None:
    assert parse("I / furlong").other_unit
    assert role_of(parse("I / furlong"))[0] == ""
