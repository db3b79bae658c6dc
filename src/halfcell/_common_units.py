"""The units of the bench, known without starting the unit library (which takes half a second).

Anything that is not made of these alone is left to the library. Powers of ten are kept as whole
numbers, so that 1 cm^2 is 1e-4 m^2 to the last digit.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

Dimensions = tuple[int, int, int, int, int, int]
"""Exponents of kg, m, s, A, K, mol."""


@dataclass(frozen=True, slots=True)
class Size:
    """A unit in SI base units: mantissa × 10^power of its dimensions."""

    mantissa: float
    power: int
    dimensions: Dimensions

    def times(self, other: Size, exponent: int) -> Size:
        """This unit times another to a whole exponent."""
        dims = tuple(a + b * exponent for a, b in zip(self.dimensions, other.dimensions, strict=True))
        mantissa = self.mantissa * other.mantissa**exponent
        return Size(mantissa, self.power + other.power * exponent, dims)  # type: ignore[arg-type]


NONE: Dimensions = (0, 0, 0, 0, 0, 0)
_ONE = Size(1.0, 0, NONE)
_BASES: dict[str, Size] = {
    "g": Size(1.0, -3, (1, 0, 0, 0, 0, 0)),
    "m": Size(1.0, 0, (0, 1, 0, 0, 0, 0)),
    "s": Size(1.0, 0, (0, 0, 1, 0, 0, 0)),
    "A": Size(1.0, 0, (0, 0, 0, 1, 0, 0)),
    "K": Size(1.0, 0, (0, 0, 0, 0, 1, 0)),
    "mol": Size(1.0, 0, (0, 0, 0, 0, 0, 1)),
    "V": Size(1.0, 0, (1, 2, -3, -1, 0, 0)),
    "C": Size(1.0, 0, (0, 0, 1, 1, 0, 0)),
    "F": Size(1.0, 0, (-1, -2, 4, 2, 0, 0)),
    "ohm": Size(1.0, 0, (1, 2, -3, -2, 0, 0)),
    "Hz": Size(1.0, 0, (0, 0, -1, 0, 0, 0)),
    "L": Size(1.0, -3, (0, 3, 0, 0, 0, 0)),
    "l": Size(1.0, -3, (0, 3, 0, 0, 0, 0)),
    "M": Size(1.0, 3, (0, -3, 0, 0, 0, 1)),
}
_WHOLE: dict[str, Size] = {
    "1": _ONE,
    "percent": Size(1.0, -2, NONE),
    "min": Size(60.0, 0, (0, 0, 1, 0, 0, 0)),
    "h": Size(3600.0, 0, (0, 0, 1, 0, 0, 0)),
}
"""Units that take no prefix here."""
_PREFIXES = {"": 0, "f": -15, "p": -12, "n": -9, "u": -6, "m": -3, "k": 3}
_TOKEN = re.compile(r"\s*([A-Za-z]+|1)(?:\s*\^\s*(-?\d))?\s*|\s*([*/()])\s*")


def size_of(unit: str) -> Size | None:
    """The size of a unit such as "uA/(mmol/L)/cm^2"; None where the library must be asked."""
    tokens: list[tuple[str, int]] = []
    at = 0
    while at < len(unit):
        match = _TOKEN.match(unit, at)
        if match is None or match.end() == at:
            return None
        tokens.append((match.group(3) or match.group(1), int(match.group(2) or 1)))
        at = match.end()
    try:
        size, rest = _product(tokens)
    except (ValueError, IndexError):
        return None
    return size if not rest else None


def _product(tokens: list[tuple[str, int]]) -> tuple[Size, list[tuple[str, int]]]:
    """The product at the start of ``tokens``, and what stands behind it. Raises ValueError for anything else."""
    size, rest = _one(tokens)
    while rest and rest[0][0] != ")":
        mark = rest[0][0]
        other, rest = _one(rest[1:] if mark in "*/" else rest)
        size = size.times(other, -1 if mark == "/" else 1)
    return size, rest


def _one(tokens: list[tuple[str, int]]) -> tuple[Size, list[tuple[str, int]]]:
    name, exponent = tokens[0]
    if name == "(":
        size, rest = _product(tokens[1:])
        if not rest or rest[0][0] != ")":
            raise ValueError("a bracket does not close")
        return size, rest[1:]
    return _ONE.times(_named(name), exponent), tokens[1:]


def _named(name: str) -> Size:
    if name in _WHOLE:
        return _WHOLE[name]
    if name in _BASES:
        return _BASES[name]
    base, prefix = _BASES.get(name[1:]), name[:1]
    if base is None or (
        prefix not in _PREFIXES and not (prefix == "c" and name == "cm") and name not in {"dm", "Mohm", "MHz"}
    ):
        raise ValueError(f"{name!r} is not known here")
    power = {"c": -2, "d": -1, "M": 6}.get(prefix, _PREFIXES.get(prefix, 0))
    return Size(base.mantissa, base.power + power, base.dimensions)
