"""The addition log: what was added when, as a person wrote it down."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from pathlib import Path

from halfcell.errors import HalfcellError, Problem, ReadError
from halfcell.units import factor, is_unit

_KINDS = {"time": "s", "volume": "m^3", "concentration": "mol/m^3"}
_NAMES = {
    "time": ("time", "t", "zeit", "temps", "added at"),
    "volume": ("volume", "v", "vol", "added"),
    "concentration": ("concentration", "c", "conc", "stock", "standard"),
}
_EXAMPLE = "time / s;volume / uL;concentration / mmol/L"
_NUMBER = re.compile(r"^\s*([+-]?\d+(?:[.,]\d+)?(?:[eE][+-]?\d+)?)\s*(.*)$")


@dataclass(frozen=True, slots=True, kw_only=True)
class Log:
    """The additions in order: ``times`` s (None where the log has none), ``volumes`` m³, ``concentrations`` mol/m³."""

    times: tuple[float, ...] | None
    volumes: tuple[float, ...]
    concentrations: tuple[float, ...]


def read_log(path: Path, name: str) -> Log:
    """The log in a file called ``name`` in messages.

    Columns time, volume, concentration of the added solution, with the unit in the heading or in every
    cell; comma, semicolon or tab; decimal point or comma. Raises ReadError naming the row.
    """
    from halfcell.study.table import decode

    try:
        text, _ = decode(path.read_bytes())
    except OSError as error:
        raise ReadError(f"{name}: the addition log cannot be read ({error.strerror}).") from None
    lines = [
        (k, line)
        for k, line in enumerate(text.splitlines(), 1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if len(lines) < 2:
        raise _wrong(name, 1, "the addition log holds no row below its heading")
    delimiter = max(";\t,", key=lambda d: (lines[0][1].count(d), -";\t,".index(d)))
    heads = [cell.strip().strip('"') for cell in lines[0][1].split(delimiter)]
    columns = _columns(heads, name, lines[0][0])
    rows = [_row(line, delimiter, columns, name, k) for k, line in lines[1:]]
    volumes = tuple(row["volume"] for row in rows)
    concentrations = tuple(row["concentration"] for row in rows)
    if "time" not in columns:
        return Log(times=None, volumes=volumes, concentrations=concentrations)
    times = tuple(row["time"] for row in rows)
    for k in range(1, len(times)):
        if times[k] <= times[k - 1]:
            raise _wrong(
                name,
                lines[k + 1][0],
                f"the time {times[k]:g} s is not after the one above, {times[k - 1]:g} s",
            )
    return Log(times=times, volumes=volumes, concentrations=concentrations)


def _columns(heads: list[str], name: str, row: int) -> dict[str, tuple[int, str]]:
    found: dict[str, tuple[int, str]] = {}
    for index, head in enumerate(heads):
        match = re.match(r"^\s*([^/(\[]+?)\s*(?:[/(\[]\s*(.+?)\s*[)\]]?)?\s*$", head)
        if match is None:
            continue
        word, unit = match.group(1).strip().lower(), (match.group(2) or "").strip()
        for role, kind in _KINDS.items():
            if role in found or not (word in _NAMES[role] or word.startswith(role)):
                continue
            if unit and not is_unit(unit, kind):
                raise _wrong(name, row, f"{unit!r} is no unit of {role}")
            found[role] = (index, unit)
            break
    missing = [role for role in ("volume", "concentration") if role not in found]
    if missing:
        raise _wrong(
            name, row, f"no column {' and no column '.join(missing)} among {', '.join(map(repr, heads))}"
        )
    return found


def _row(
    line: str, delimiter: str, columns: dict[str, tuple[int, str]], name: str, row: int
) -> dict[str, float]:
    cells = [c.strip().strip('"') for c in line.split(delimiter)]
    out = {}
    for role, (index, unit) in columns.items():
        cell = cells[index] if index < len(cells) else ""
        match = _NUMBER.match(cell)
        if match is None:
            raise _wrong(name, row, f"{role} is {cell!r}, which is no number")
        given = match.group(2).strip() or unit
        if not given:
            raise _wrong(name, row, f"{role} {cell!r} has no unit, neither here nor in the heading")
        try:
            value = float(match.group(1).replace(",", ".")) * factor(given, _KINDS[role])
        except HalfcellError:
            raise _wrong(name, row, f"{role} is {cell!r}; {given!r} is no unit of {role}") from None
        if not math.isfinite(value) or value < 0 or (role == "volume" and value == 0):
            raise _wrong(name, row, f"{role} is {cell!r}, which cannot be")
        out[role] = value
    return out


def _wrong(name: str, row: int, what: str) -> ReadError:
    problem = Problem(file=name, place=f"row {row}", what=f"{what}.", example=_EXAMPLE)
    return ReadError(str(problem), problems=(problem,))
