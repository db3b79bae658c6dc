"""Where the table of numbers begins in a text, what parts its cells, and its decimal mark."""

from __future__ import annotations

import csv
import functools
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from halfcell.readers import headings

if TYPE_CHECKING:
    from halfcell.readers.hints import Hints
    from halfcell.readers.source import Source

FEWEST = 3
"""Rows below which numbers are no table."""
_CANDIDATES = (
    ("\t", "."),
    ("\t", ","),
    (";", "."),
    (";", ","),
    (",", "."),
    ("|", "."),
    ("|", ","),
    (" ", "."),
    (" ", ","),
)
_NUMBERS = {
    ".": re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?\Z"),
    ",": re.compile(r"[+-]?(?:\d+|\d*,\d+)(?:[eE][+-]?\d+)?\Z"),
}
_NOTHING = frozenset({"", "nan", "-nan", "na", "n/a", "null", "none", "-", "--", "---"})
_NUMERIC_LINE = re.compile(
    r"""[\s"']*[-+.,]?\d[-+0-9eE.,;|\s:/"'nNaA]*\Z|[\s]*[,;|\t][-+0-9eE.,;|\s"'nNaA]*\d[-+0-9eE.,;|\s"'nNaA]*\Z"""
)
_FIRST_LOOK = 1 << 13
_LAST_LOOK = 1 << 25


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """How a table lies in its file."""

    delimiter: str
    """``,`` ``;`` a tab, or a space for any white space."""
    decimal: str
    columns: int
    numeric: tuple[int, ...]
    """Columns (from 0) that hold numbers."""
    first: int
    """Lines above the first row of numbers."""
    offset: int
    """Bytes above the first row of numbers."""
    above: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    """The first rows, split."""
    words: bool = False
    """Whether some column holds words."""


def cells(line: str, delimiter: str) -> list[str]:
    """A line split at its delimiter; quotes are understood."""
    if delimiter == " ":
        return line.replace('"', " ").split()
    if '"' in line:
        try:
            return [cell.strip() for cell in next(csv.reader([line.strip("\r\n")], delimiter=delimiter), [])]
        except csv.Error:
            return [cell.strip(' "\r\n') for cell in line.split(delimiter)]
    return [cell.strip() for cell in line.split(delimiter)]


def kinds(parts: Sequence[str], decimal: str) -> str:
    """One letter a cell: n a number, e nothing, t text."""
    number = _NUMBERS[decimal].match
    return "".join("n" if number(part) else ("e" if part.lower() in _NOTHING else "t") for part in parts)


def line_kinds(line: str, delimiter: str, decimal: str) -> str:
    """``kinds`` of a line's cells, quickly where all of them are numbers."""
    if _plain_row(delimiter, decimal).match(line):
        return "n" * (len(line.split()) if delimiter == " " else line.count(delimiter) + 1)
    return kinds(cells(line, delimiter), decimal)


@functools.cache
def _plain_row(delimiter: str, decimal: str) -> re.Pattern[str]:
    """A line of numbers only, written so that no text can match in more than one way."""
    whole = r"\d+(?:\.\d*)?|\.\d+" if decimal == "." else r"\d+(?:,\d+)?|,\d+"
    number = rf"[+-]?(?:{whole})(?:[eE][+-]?\d+)?"
    if delimiter == " ":
        return re.compile(rf"\s*{number}(?:\s+{number})*\s*\Z")
    return re.compile(rf" *{number} *(?:{re.escape(delimiter)} *{number} *)*[\r\n]*\Z")


def find_layout(source: Source, hints: Hints) -> Layout | None:
    """The layout of the longest table near the top of a file, or None where there is none."""
    look = _FIRST_LOOK
    while True:
        data = source.part(0, look)
        whole = len(data) >= source.size or len(data) < look or look > _LAST_LOOK
        lines = data.split(b"\n")
        if not whole:
            lines.pop()
        layout, rows = _look(source, lines, hints)
        if whole or (layout is not None and _enough(layout, rows, len(lines), look)):
            return layout
        look *= 4


def _enough(layout: Layout, rows: int, lines: int, look: int) -> bool:
    """Whether a longer look could not show a better table: many rows, and none with words in them."""
    if look > 1 << 20:
        return rows >= 50
    return rows >= 50 and rows > 0.5 * (lines - layout.first) and not layout.words


def _look(source: Source, raw: list[bytes], hints: Hints) -> tuple[Layout | None, int]:
    lines = [source.decode(line).rstrip("\r") for line in raw]
    if hints.skip is not None:
        start, stop = hints.skip, len(lines)
    else:
        start, stop = _longest(lines)
    if stop - start < 1 and hints.skip is None:
        start, stop = 0, len(lines)
    best = _choose(lines, start, stop, hints)
    if best is None and hints.skip is None and (start, stop) != (0, len(lines)):
        start, stop = 0, len(lines)
        best = _choose(lines, start, stop, hints)
    if best is None:
        return None, 0
    return _settle(lines, raw, (start, stop), best, from_top=hints.skip is None)


def _longest(lines: list[str]) -> tuple[int, int]:
    """The longest run of lines made of numbers only; blank lines within are allowed."""
    best, start, count, last = (0, 0, 0), None, 0, 0
    for i, line in enumerate(lines):
        if not line.strip():
            continue
        if _NUMERIC_LINE.match(line):
            if start is None:
                start, count = i, 0
            count, last = count + 1, i
            if count > best[0]:
                best = (count, start, last + 1)
        else:
            start = None
    return best[1], best[2]


def _choose(lines: list[str], start: int, stop: int, hints: Hints) -> tuple[str, str] | None:
    """The delimiter and decimal mark under which most lines are rows of numbers."""
    best, score = None, 0.0
    filled = [line for line in lines[start:stop] if line.strip()]
    middle = max(0, len(filled) // 2 - 20)
    sample = filled if len(filled) < 80 else filled[:20] + filled[middle : middle + 40] + filled[-20:]
    for delimiter, decimal in _CANDIDATES:
        if (hints.delimiter and hints.delimiter != delimiter) or (hints.decimal and hints.decimal != decimal):
            continue
        if delimiter == decimal or not (delimiter == " " or any(delimiter in line for line in sample)):
            continue
        seen = [line_kinds(line, delimiter, decimal) for line in sample]
        good = [k for k in seen if _is_row(k)]
        if len(good) < FEWEST:
            continue
        width = Counter(map(len, good)).most_common(1)[0][0]
        points = sum(k.count("n") / (1 + k.count("t")) for k in good if len(k) == width)
        if points > score * 1.0001:
            best, score = (delimiter, decimal), points
    return best


@functools.lru_cache(maxsize=1024)
def _is_row(kind: str) -> bool:
    n, t = kind.count("n"), kind.count("t")
    return n >= 2 and t <= n if t else n >= 1 and len(kind) >= 2


def _settle(
    lines: list[str], raw: list[bytes], run: tuple[int, int], marks: tuple[str, str], *, from_top: bool
) -> tuple[Layout | None, int]:
    """The layout once delimiter and decimal mark are known, and the rows that follow it."""
    delimiter, decimal = marks
    start = 0 if from_top else run[0]
    seen = [line_kinds(line, delimiter, decimal) if line.strip() else "" for line in lines[start:]]
    # Lines of one kind are looked at once.
    good = {k: n for k, n in Counter(seen[run[0] - start : run[1] - start]).items() if _is_row(k)}
    if sum(good.values()) < FEWEST:
        return None, 0
    widths: Counter[int] = Counter()
    for kind, count in good.items():
        widths[len(kind)] += count
    columns = widths.most_common(1)[0][0]
    fitting = {k: n for k, n in good.items() if len(k) == columns}
    half = 0.5 * sum(fitting.values())
    texts = {i for i in range(columns) if sum(n for k, n in fitting.items() if k[i] == "t") > half}
    numeric = tuple(i for i in range(columns) if i not in texts and any(k[i] == "n" for k in fitting))
    first = _begin(seen, lines[start:], columns, numeric)
    if first is None:
        return None, 0
    at = start + first
    rows = {k for k in set(seen) if _fits(k, columns, numeric)}
    fits = [at + i for i, k in enumerate(seen[first:]) if k in rows]
    layout = Layout(
        delimiter=delimiter, decimal=decimal, columns=columns, numeric=numeric, first=at,
        offset=sum(len(line) + 1 for line in raw[:at]), above=tuple(lines[:at]),
        rows=tuple(tuple(cells(lines[i], delimiter)) for i in fits[:200]), words=bool(texts),
    )  # fmt: skip
    return layout, len(fits)


def _begin(seen: list[str], lines: list[str], columns: int, numeric: tuple[int, ...]) -> int | None:
    """The first row of the first run of rows that is no mere stray among the lines above the table."""
    runs: list[list[int]] = [[]]
    alike = set(seen)
    rows = {k for k in alike if _fits(k, columns, numeric)}
    damaged = {k for k in alike if _damaged(k, columns, numeric)}
    for i, kind in enumerate(seen):
        if kind in rows:
            runs[-1].append(i)
        elif kind and kind not in damaged and runs[-1]:
            runs.append([])
    longest = max(runs, key=len)
    if len(longest) < FEWEST:
        return None
    able = [run for run in runs if len(run) >= max(FEWEST, 0.2 * len(longest))]
    if _headed(lines, longest[0]):
        able = [run for run in able if run is longest or _headed(lines, run[0])]
    elif headed := [run for run in runs if run and run[0] < able[0][0] and _headed(lines, run[0])]:
        able = headed  # a few rows right under the headings, before a line that is no row
    first = able[0][0]
    while first > 0 and _damaged(seen[first - 1], columns, numeric):
        first -= 1
    return first


def _headed(lines: list[str], row: int) -> bool:
    """Whether one of the three lines above a row names a potential, a current or a time."""
    above = [line for line in lines[max(0, row - 6) : row] if line.strip()][-3:]
    names = (part for line in above for part in re.split(r"[\t;,]|\s{2,}", line) if 0 < len(part) < 60)
    return any(headings.role_of(headings.parse(name))[1] >= 2 for name in names)


def rows_among(lines: Sequence[str], layout: Layout) -> int:
    """How many of the first lines of a text are rows of its table."""
    seen = (line_kinds(line, layout.delimiter, layout.decimal) for line in lines[layout.first :])
    return sum(_fits(kind, layout.columns, layout.numeric) for kind in seen)


def _damaged(kind: str, columns: int, numeric: tuple[int, ...]) -> bool:
    """Whether a line is a row with a word where a number should be."""
    if len(kind) != columns:
        return False
    found = [kind[i] for i in numeric]
    return found.count("n") > found.count("t") > 0


def _fits(kind: str, columns: int, numeric: tuple[int, ...]) -> bool:
    if len(kind) != columns:
        return False
    found = [kind[i] for i in numeric]
    return "t" not in found and "n" in found
