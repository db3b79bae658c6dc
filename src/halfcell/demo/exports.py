"""The messy ways in which the invented instruments write their records, one way a material.

Each writer takes the columns by role (time, potential, current, cycle; SI units, one length) and
the electrode's area, and returns the bytes of the file.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from halfcell.results import FloatArray

Columns = Mapping[str, "FloatArray"]


def _rows(formats: Sequence[str], columns: Sequence[FloatArray], delimiter: str) -> list[str]:
    pattern = delimiter.join(formats)
    return [pattern % row for row in zip(*(c.tolist() for c in columns), strict=True)]


def _present(
    columns: Columns, wanted: Sequence[tuple[str, str, str, float]]
) -> tuple[list[str], list[str], list[FloatArray]]:
    """Headings, formats and scaled columns of those wanted that the record holds."""
    held = [w for w in wanted if w[0] in columns]
    return [w[1] for w in held], [w[2] for w in held], [columns[w[0]] * w[3] for w in held]


def comma_decimals(columns: Columns, area: float) -> bytes:
    """Semicolons, decimal commas, UTF-16, Windows line ends, mV and µA, a cycle column."""
    heads, formats, values = _present(
        columns,
        [
            ("potential", "Potential / mV", "%.2f", 1e3),
            ("current", "Current / µA", "%.5f", 1e6),
            ("time", "Time / s", "%.3f", 1),
            ("cycle", "Cycle", "%d", 1),
        ],
    )
    above = ["Record;invented", "Cell;three electrodes, 20 mL", "Range;automatic", ""]
    body = [row.replace(".", ",") for row in _rows(formats, values, ";")]
    return "\r\n".join([*above, ";".join(heads), *body, ""]).encode("utf-16")


def units_row(columns: Columns, area: float) -> bytes:
    """Commas, a row of units under the heads, UTF-8 with a byte-order mark, a current density."""
    heads, formats, values = _present(
        columns,
        [
            ("time", "time", "%.3f", 1),
            ("potential", "potential", "%.5f", 1),
            ("current", "current density", "%.7f", 0.1 / area),
            ("cycle", "cycle", "%d", 1),
        ],
    )
    units = {"time": "s", "potential": "V", "current density": "mA/cm^2", "cycle": ""}
    return "\n".join(
        [",".join(heads), ",".join(units[h] for h in heads), *_rows(formats, values, ","), ""]
    ).encode("utf-8-sig")


def tabs(columns: Columns, area: float) -> bytes:
    """Tabs under forty lines of particulars, amperes with exponents, an extra column, empty lines below."""
    heads, formats, values = _present(
        columns, [("time", "t/s", "%.3f", 1), ("potential", "E/V", "%.5f", 1), ("current", "i/A", "%.6E", 1)]
    )
    charge = np.concatenate([[0.0], np.cumsum(columns["current"][1:] * np.diff(columns["time"]))])
    above = ["invented record", *(f"particular {k}:\t{k * 7 % 13}" for k in range(1, 39)), ""]
    body = _rows([*formats, "%.5E"], [*values, charge], "\t")
    return "\n".join([*above, "\t".join([*heads, "q/C"]), *body, "", "", ""]).encode("utf-8")


def bare_numbers(columns: Columns, area: float) -> bytes:
    """Spaces, no heads, Latin-1: mV or s, then nA. Only a person can say which is which."""
    _, formats, values = _present(
        {k: v for k, v in columns.items() if k != "time" or "potential" not in columns},
        [("time", "", "%10.3f", 1), ("potential", "", "%10.2f", 1e3), ("current", "", "%14.3f", 1e9)],
    )
    return "\n".join(["invented, 25 °C", *_rows(formats, values, " "), ""]).encode("latin-1")


def blocks(columns: Columns, area: float) -> bytes:
    """Commas; every cycle is a block with heads of its own."""
    heads, formats, values = _present(
        columns,
        [("potential", "E (V)", "%.5f", 1), ("time", "t (s)", "%.3f", 1), ("current", "i (uA)", "%.6f", 1e6)],
    )
    lines = ["Invented record"]
    cycle = columns.get("cycle", np.ones(columns["current"].size))
    for number in np.unique(cycle):
        chosen = cycle == number
        lines += ["", f"Cycle {int(number)}"] if "cycle" in columns else [""]
        lines += [",".join(heads), *_rows(formats, [v[chosen] for v in values], ",")]
    return "\n".join([*lines, ""]).encode("utf-8")


def cut_short(columns: Columns, area: float) -> bytes:
    """Semicolons, Latin-1, nA; the last line is cut off and something else follows."""
    heads, formats, values = _present(
        columns,
        [("potential", "E(V)", "%.5f", 1), ("current", "I(nA)", "%.3f", 1e9), ("time", "t(s)", "%.3f", 1)],
    )
    body = _rows(formats, values, ";")
    body[-1] = body[-1][: len(body[-1]) // 2]
    return "\r\n".join(["# invented; µ-range", ";".join(heads), *body, "memory full", ""]).encode("latin-1")


STYLES: dict[str, Callable[[Columns, float], bytes]] = {
    "comma decimals": comma_decimals,
    "units row": units_row,
    "tabs": tabs,
    "bare numbers": bare_numbers,
    "blocks": blocks,
    "cut short": cut_short,
}
ENDINGS = {
    "comma decimals": "csv",
    "units row": "csv",
    "tabs": "txt",
    "bare numbers": "dat",
    "blocks": "csv",
    "cut short": "txt",
}
