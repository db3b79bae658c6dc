"""Quantities as text with a unit, in and out. Inside everything is SI and carries no unit."""

from __future__ import annotations

import functools
import math
import re
from typing import Any

from halfcell._common_units import size_of
from halfcell.constants import ZERO_CELSIUS
from halfcell.errors import UnitError

_NUMBER = re.compile(r"^\s*([+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?)\s*(.*?)\s*$", re.DOTALL)


_POWERS = str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789")


@functools.cache
def _registry() -> Any:
    import pint

    registry: Any = pint.UnitRegistry(autoconvert_offset_to_baseunit=True, cache_folder=None)
    return registry


def _clean(unit: str) -> str:
    """Spellings of the bench as the unit library knows them."""
    text = unit.strip().replace("µ", "u").replace("μ", "u").replace("Ω", "ohm").replace("Ω", "ohm")
    text = text.replace("°C", "degC").replace("·", "*").replace("%", "percent")
    text = re.sub("[⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+", lambda power: "^" + power.group().translate(_POWERS), text)
    text = re.sub(r"\b([munc]?m|dm)([23])\b", r"\1^\2", text)
    return re.sub(r"(?<=[A-Za-z])-(\d)", r"^-\1", text)


@functools.lru_cache(maxsize=4096)
def factor(unit: str, to: str) -> float:
    """The number by which a value in ``unit`` is multiplied to be in ``to``.

    Raises UnitError for an unknown unit, for two units of different kinds and for
    temperatures with an offset (use ``parse``).
    """
    first, second = size_of(_clean(unit) or "1"), size_of(_clean(to) or "1")
    if first is not None and second is not None:
        if first.dimensions != second.dimensions:
            raise UnitError(
                f"{unit!r} is not a unit that can be turned into {to!r} (they are of different kinds)."
            )
        return first.mantissa / second.mantissa * float(f"1e{first.power - second.power}")
    registry = _registry()
    try:
        return float(registry.Quantity(1.0, _clean(unit) or "1").to(_clean(to) or "1").magnitude)
    except Exception as error:  # noqa: BLE001 - the library raises many kinds for a bad unit
        raise UnitError(
            f"{unit!r} is not a unit that can be turned into {to!r} ({_first_line(error)})."
        ) from None


def _first_line(error: Exception) -> str:
    return (str(error) or type(error).__name__).splitlines()[0]


def is_unit(text: str, kind: str) -> bool:
    """Whether ``text`` is a unit of the same kind as ``kind`` ("mV" is of the kind of "V")."""
    try:
        factor(text, kind)
    except UnitError:
        return False
    return True


def parse(text: object, to: str, *, example: str) -> float:
    """The value in unit ``to`` of a text such as "50 mV/s".

    Raises UnitError, which shows ``example``, for a bare number, an unknown unit or a unit
    of another kind. A decimal comma is accepted ("0,071 cm^2") where it cannot part thousands ("1,000 umol/L").
    """
    if isinstance(text, bool) or not isinstance(text, (str, int, float)):
        raise UnitError(f"{text!r} is not a quantity; write it as text with a unit, such as {example!r}.")
    if isinstance(text, (int, float)):
        raise UnitError(f"{text!r} has no unit; write it as text with a unit, such as {example!r}.")
    match = _NUMBER.match(text)
    if match is None:
        raise UnitError(f"{text!r} does not begin with a number; write it such as {example!r}.")
    if _THOUSANDS.fullmatch(match.group(1)):
        raise UnitError(
            f"{text!r} may be meant with decimals or in thousands; write it with a point or without the comma, such as {example!r}."
        )
    number, unit = float(match.group(1).replace(",", ".")), match.group(2)
    if not unit and to != "1":
        raise UnitError(f"{text!r} has no unit; write it as text with a unit, such as {example!r}.")
    if not math.isfinite(number):
        raise UnitError(f"{text!r} is not a finite number; write it such as {example!r}.")
    if to == "K":
        if _clean(unit) in {"K", "degC"}:
            return number + (ZERO_CELSIUS if _clean(unit) == "degC" else 0.0)
        registry = _registry()
        try:
            return float(registry.Quantity(number, _clean(unit)).to("K").magnitude)
        except Exception:  # noqa: BLE001 - see factor
            raise UnitError(f"{unit!r} is not a temperature; write it such as {example!r}.") from None
    try:
        return number * factor(unit or "1", to)
    except UnitError:
        mass = is_unit(to, "mol/L") and (unit in {"ppm", "ppb"} or is_unit(unit, "g/L"))
        how = " (divide a mass by the molar mass first)" if mass else ""
        raise UnitError(
            f"{text!r}: {unit!r} is not a unit of the kind needed here{how}; write it such as {example!r}."
        ) from None


_THOUSANDS = re.compile(r"[-+]?[1-9]\d{0,2},\d{3}")
_PRETTY = {
    "uA": "µA", "uF": "µF", "uC": "µC", "um": "µm", "ug": "µg", "us": "µs", "umol": "µmol", "ohm": "Ω", "degC": "°C", "percent": "%",
}  # fmt: skip
_SUPER = str.maketrans("0123456789-.", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻·")


def pretty(unit: str) -> str:
    """A unit as it is printed: "uA/(mmol/L)/cm^2" becomes "µA mM⁻¹ cm⁻²", "1" becomes ""."""
    if unit in {"", "1"}:
        return ""
    text = unit
    for prefix in ("", "m", "u", "n", "p"):
        text = text.replace(f"({prefix}mol/L)", f"{'µ' if prefix == 'u' else prefix}M")
        text = re.sub(rf"(?<![A-Za-z]){prefix}mol/L", f"{'µ' if prefix == 'u' else prefix}M", text)
    parts = text.split("/")
    words = [_word(parts[0])] if parts[0] not in {"", "1"} else []
    words += [_word(part, invert=True) for part in parts[1:]]
    return " ".join(words)


def _word(part: str, *, invert: bool = False) -> str:
    out = []
    for piece in part.strip("()").split("*"):
        base, _, power = piece.partition("^")
        exponent = power or "1"
        if invert:
            exponent = exponent[1:] if exponent.startswith("-") else f"-{exponent}"
        name = _PRETTY.get(base, base)
        out.append(name if exponent == "1" else name + exponent.translate(_SUPER))
    return " ".join(out)


def number(value: float, u: float = math.nan, *, digits: int = 3) -> str:
    """A value rounded to its uncertainty (two digits of u; GUM 7.2.6), with a real minus sign."""
    if not math.isfinite(value):
        return "–" if math.isnan(value) else ("∞" if value > 0 else "−∞")
    if math.isfinite(u) and u > 0:
        return _fixed(value, 1 - math.floor(math.log10(u)))
    if value == 0:
        return "0"
    return _fixed(value, digits - 1 - math.floor(math.log10(abs(value))))


def percent(share: float, places: int = 0, *, sign: bool = False) -> str:
    """A share (1 = all) as it is printed: 0.95 becomes "95 %"; ``sign`` prints a plus too."""
    return f"{100 * share:{'+' if sign else ''}.{places}f} %"


def with_uncertainty(value: float, u: float, unit: str = "") -> str:
    """ "12.3 ± 0.4 µA": value and standard uncertainty to the same place, then the unit."""
    tail = f" {pretty(unit)}" if pretty(unit) else ""
    if not (math.isfinite(u) and u > 0 and math.isfinite(value)):
        return number(value) + tail
    places = 1 - math.floor(math.log10(u))
    size = max(abs(round(value, places)), u)
    if 1e-4 <= size < 1e6:
        return f"{_plain(value, places)} ± {_plain(u, places)}{tail}"
    exponent = math.floor(math.log10(size))
    value, u = value / 10.0**exponent, u / 10.0**exponent
    power = f"×10{str(exponent).translate(_SUPER)}"
    return f"({_plain(value, places + exponent)} ± {_plain(u, places + exponent)}){power}{tail}"


def _fixed(value: float, places: int) -> str:
    rounded = round(value, places)
    size = abs(rounded)
    if size != 0 and (size >= 1e6 or size < 1e-4):
        exponent = math.floor(math.log10(size))
        shown = f"{rounded / 10**exponent:.{max(0, places + exponent)}f}×10{str(exponent).translate(_SUPER)}"
    else:
        shown = f"{rounded:.{max(0, places)}f}"
    return shown.replace("-", "−")


def _plain(value: float, places: int) -> str:
    return f"{round(value, places):.{max(0, places)}f}".replace("-", "−")
