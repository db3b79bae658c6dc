"""Messy exports of an invented voltammogram: what files look like in the wild, written by us.

Each style is a function of the true columns that returns bytes. The truth is in SI.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Truth:
    time: np.ndarray
    potential: np.ndarray
    current: np.ndarray
    cycle: np.ndarray


def truth(cycles: int = 2, points: int = 60) -> Truth:
    """A triangle of potential with a rounded current; about 1 µA, 0.05 V/s."""
    sweep = np.concatenate([np.linspace(-0.2, 0.6, points), np.linspace(0.6, -0.2, points)[1:-1]])
    potential = np.round(np.tile(sweep, cycles), 6)
    time = np.round(np.arange(len(potential)) * (0.8 / (points - 1)) / 0.05, 6)
    current = 1e-6 * np.tanh((potential - 0.2) / 0.05) + 2e-8 * np.sin(np.arange(len(potential)))
    cycle = np.repeat(np.arange(1, cycles + 1), len(sweep)).astype(float)
    return Truth(time, potential, np.round(current, 12), cycle)


@dataclass(frozen=True)
class Style:
    name: str
    write: Callable[[Truth], bytes]
    has: tuple[str, ...] = ("potential", "current")
    rows: int | None = None
    """Rows that must come back, where not all."""


def table(
    columns: list[tuple[np.ndarray, str]], sep: str = ",", decimal: str = ".", end: str = "\n", tail: str = ""
) -> str:
    """Rows of formatted numbers."""
    lines = []
    for row in zip(*(c for c, _ in columns), strict=True):
        cells = [format(v, f) if np.isfinite(v) else "" for v, (_, f) in zip(row, columns, strict=True)]
        lines.append(sep.join(c.replace(".", decimal) for c in cells) + tail)
    return end.join(lines) + end


E, MV, T, SCI, UA = ".5f", ".3f", ".4f", ".6e", ".7f"


def _style(name: str, has: tuple[str, ...] = ("potential", "current"), rows: int | None = None):
    def keep(write: Callable[[Truth], bytes]) -> Callable[[Truth], bytes]:
        STYLES.append(Style(name, write, has, rows))
        return write

    return keep


STYLES: list[Style] = []
ALL = ("time", "potential", "current")


@_style("comma, units after a slash")
def _(t: Truth) -> bytes:
    return ("E / V,I / A\n" + table([(t.potential, E), (t.current, SCI)])).encode()


@_style("millivolt and microampere in brackets", ALL)
def _(t: Truth) -> bytes:
    body = table([(t.time, T), (t.potential * 1e3, MV), (t.current * 1e6, UA)])
    return ("t/s,Potential (mV),i(uA)\n" + body).encode()


@_style("semicolon and decimal comma with CRLF", ALL)
def _(t: Truth) -> bytes:
    body = table([(t.time, T), (t.potential, E), (t.current, SCI)], ";", ",", "\r\n")
    return ("Zeit in s;Spannung in V;Strom in A\r\n" + body).encode()


@_style("tab, decimal comma, micro sign, Latin-1")
def _(t: Truth) -> bytes:
    body = table([(t.potential, E), (t.current * 1e6, UA)], "\t", ",")
    return ("Potential / V\tStrom / µA\n" + body).encode("latin-1")


@_style("UTF-8 with a byte-order mark")
def _(t: Truth) -> bytes:
    return ("Potential vs. Ag/AgCl (V),Current (µA)\r\n" + table([(t.potential, E), (t.current * 1e6, UA)], end="\r\n")).encode("utf-8-sig")  # fmt: skip


@_style("UTF-16 little-endian with tabs")
def _(t: Truth) -> bytes:
    return ("E/V\tI/µA\r\n" + table([(t.potential, E), (t.current * 1e6, UA)], "\t", end="\r\n")).encode(
        "utf-16"
    )


@_style("UTF-16 big-endian without a mark")
def _(t: Truth) -> bytes:
    return ("E/V;I/A\n" + table([(t.potential, E), (t.current, SCI)], ";")).encode("utf-16-be")


@_style("aligned with spaces", ALL)
def _(t: Truth) -> bytes:
    rows = "".join(
        f"  {a:10.4f}  {b:9.5f}  {c:14.6e}\n" for a, b, c in zip(t.time, t.potential, t.current, strict=True)
    )
    return ("   Time/s    E/V    I/A\n" + rows).encode()


@_style("spaces within the headings")
def _(t: Truth) -> bytes:
    rows = "".join(f"{b:9.5f}   {c:14.6e}\n" for b, c in zip(t.potential, t.current, strict=True))
    return ("Potential (V)   Current (A)\n" + rows).encode()


@_style("units in a row of their own", ALL)
def _(t: Truth) -> bytes:
    body = table([(t.time, T), (t.potential * 1e3, MV), (t.current * 1e9, ".4f")], ";")
    return ("Time;Potential;Current\ns;mV;nA\n" + body).encode()


@_style("units in a row with brackets")
def _(t: Truth) -> bytes:
    return ("E\tI\n[V]\t[mA]\n" + table([(t.potential, E), (t.current * 1e3, ".9f")], "\t")).encode()


@_style("three thousand lines of keys and values")
def _(t: Truth) -> bytes:
    head = "".join(f"Setting {i}\t{i * 0.5}\n" for i in range(3000))
    return (head + "\nPotential/V\tCurrent/A\n" + table([(t.potential, E), (t.current, SCI)], "\t")).encode()


@_style("keys, values and numbers before the table")
def _(t: Truth) -> bytes:
    head = "Linear steps: 3\nInit E (V) = -0.2\nScan Rate (V/s) = 0.05\nRanges: 1 2 3\n10 20\n\n"
    return (head + "Potential/V, Current/A\n\n" + table([(t.potential, E), (t.current, SCI)], ", ")).encode()


@_style("comment signs before the headings")
def _(t: Truth) -> bytes:
    return ("# invented data\n# E/V I/uA\n" + table([(t.potential, E), (t.current * 1e6, UA)], " ")).encode()


@_style("cycle column among others", ("time", "potential", "current", "cycle"))
def _(t: Truth) -> bytes:
    n = np.arange(len(t.time)).astype(float)
    body = table(
        [
            (n, ".0f"),
            (t.cycle, ".0f"),
            (t.time, T),
            (t.potential, E),
            (t.current * 1e6, UA),
            (n * 0 + 25, ".1f"),
        ]
    )
    return ("Index,Cycle,Time (s),Potential (V),Current (µA),Temperature (°C)\n" + body).encode()


@_style("a column of words", ALL)
def _(t: Truth) -> bytes:
    rows = "".join(f"2024-05-01 10:00:{int(a) % 60:02d};sweep;{a:.4f};{b:.5f};{c:.6e}\n" for a, b, c in zip(t.time, t.potential, t.current, strict=True))  # fmt: skip
    return ("Clock;Mode;t (s);E (V);I (A)\n" + rows).encode()


@_style("blocks with repeated headings", ("potential", "current", "cycle"))
def _(t: Truth) -> bytes:
    text = ""
    for cycle in (1, 2):
        rows = t.cycle == cycle
        text += f"Cycle {cycle}\nE/V,I/A\n" + table([(t.potential[rows], E), (t.current[rows], SCI)]) + "\n"
    return text.encode()


@_style("blocks parted by an empty line", ("potential", "current", "cycle"))
def _(t: Truth) -> bytes:
    parts = [table([(t.potential[t.cycle == c], E), (t.current[t.cycle == c], SCI)], "\t") for c in (1, 2)]
    return ("E (V)\tI (A)\n" + "\n".join(parts)).encode()


@_style("pairs side by side, the second shorter", ("potential", "current", "cycle"))
def _(t: Truth) -> bytes:
    a, b = t.cycle == 1, t.cycle == 2
    return ("E/V,I/A,E/V,I/A\n" + table([(t.potential[a], E), (t.current[a], SCI), (t.potential[b], E), (t.current[b], SCI)])).encode()  # fmt: skip


@_style("currents side by side with one potential", ("potential", "current", "cycle"))
def _(t: Truth) -> bytes:
    a, b = t.cycle == 1, t.cycle == 2
    return ("E /V;I /uA;I /uA\n" + table([(t.potential[a], E), (t.current[a] * 1e6, UA), (t.current[b] * 1e6, UA)], ";", ",")).encode()  # fmt: skip


@_style("junk after the table")
def _(t: Truth) -> bytes:
    body = table([(t.potential, E), (t.current, SCI)])
    return ("E/V,I/A\n" + body + "\n\nEnd of data\nPeaks found: 2\nEp=0.2;ip=1e-6\n").encode()


@_style("cut off in the middle of a row", rows=-1)
def _(t: Truth) -> bytes:
    return ("E/V,I/A\n" + table([(t.potential, E), (t.current, SCI)])).encode()[:-9]


@_style("cut off in the middle of a number", rows=-1)
def _(t: Truth) -> bytes:
    return ("E/V,I/uA\n" + table([(t.potential, E), (t.current * 1e6, UA)])).encode()[:-5]


@_style("no line end after the last row")
def _(t: Truth) -> bytes:
    return ("E/V,I/A\n" + table([(t.potential, E), (t.current, SCI)])).encode()[:-1]


@_style("an empty line after every row")
def _(t: Truth) -> bytes:
    return ("E/V,I/A\n\n" + table([(t.potential, E), (t.current, SCI)], end="\n\n")).encode()


@_style("delimiter at the end of every row")
def _(t: Truth) -> bytes:
    return ("E/V;I/A;\n" + table([(t.potential, E), (t.current, SCI)], ";", tail=";")).encode()


@_style("quoted cells with decimal commas")
def _(t: Truth) -> bytes:
    rows = "".join(
        f'"{b:.5f}","{c:.6e}"\n'.replace(".", ",") for b, c in zip(t.potential, t.current, strict=True)
    )
    return ('"Potential (V)","Current (A)"\n' + rows).encode()


@_style("true minus signs and carriage returns only")
def _(t: Truth) -> bytes:
    return (
        ("E/V\tI/A\r" + table([(t.potential, E), (t.current, SCI)], "\t", end="\r"))
        .replace("-", "\u2212")
        .encode()
    )


@_style("no headings, told by shape", ALL)
def _(t: Truth) -> bytes:
    return table([(t.time, T), (t.potential, E), (t.current, SCI)], "\t").encode()


@_style("names without units, told by magnitude", ALL)
def _(t: Truth) -> bytes:
    return ("t,E,I\n" + table([(t.time, T), (t.potential, E), (t.current, SCI)])).encode()


@_style("order current, time, potential with underscores", ALL)
def _(t: Truth) -> bytes:
    return ("current_uA,time_s,potential_mV\n" + table([(t.current * 1e6, UA), (t.time, T), (t.potential * 1e3, MV)])).encode()  # fmt: skip


@_style("times in minutes, plus signs, capital exponents", ALL)
def _(t: Truth) -> bytes:
    rows = "".join(
        f"{a / 60:+.9f};{b:+.5f};{c:+.6E}\n" for a, b, c in zip(t.time, t.potential, t.current, strict=True)
    )
    return ("Elapsed time [min];Applied potential [V];Current [A]\n" + rows).encode()
