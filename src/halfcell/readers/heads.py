"""Which of the lines above a table are its headings and units, one Heading a column."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from halfcell.readers import headings
from halfcell.readers.headings import Heading
from halfcell.readers.layout import Layout, cells, kinds

_LOOK = 6
"""Lines above the numbers that may belong to the headings."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Heads:
    """The headings of a table, as many as it has columns; an unnamed column has an empty one."""

    columns: tuple[Heading, ...]
    row: int | None = None
    """Line (from 0) of the names; None where the table has no headings."""
    notes: tuple[str, ...] = ()
    """Further text that stood between the names and the numbers."""
    doubt: str = ""
    """Why the headings cannot be matched with the columns."""


def find_heads(layout: Layout) -> Heads:
    """The headings above a table: a row of names, perhaps a row of units, perhaps a row of notes."""
    above = [(i, line) for i, line in enumerate(layout.above) if line.strip(" \t\r\n,;")][-_LOOK:]
    rows = [(i, line, _split(line, layout)) for i, line in above]
    best, points = None, 0.0
    for position, (_, _, parts) in enumerate(rows):
        if parts is None or _short(parts, layout):
            continue
        worth = _worth(parts, plain=_parted(layout, rows[position][1])) + 0.01 * position
        if worth > points:
            best, points = position, worth
    if best is None:
        return _unmatched(layout, above)
    line, _, parts = rows[best]
    assert parts is not None
    columns = [headings.parse(part) if part else Heading(text="", name="") for part in _padded(parts, layout)]
    notes = []
    for at in range(len(rows)):
        other = rows[at][2]
        if at == best:
            continue
        if other is not None and at == best + 1 and _units_only(other):
            columns = [
                _with_unit(column, unit) for column, unit in zip(columns, _padded(other, layout), strict=True)
            ]
        elif other is not None and at == best - 1 and all(not c.name for c in columns) and any(other):
            columns = [
                replace(c, name=text, text=text or c.text)
                for c, text in zip(columns, _padded(other, layout), strict=True)
            ]
        elif at > best or (at == best - 1 and other is not None):
            notes.append(re.sub(r"\s*[\t;,]\s*", " ", rows[at][1]).strip())
    return Heads(columns=tuple(columns), row=line, notes=tuple(n for n in notes if n))


def _padded(parts: list[str], layout: Layout) -> list[str]:
    return parts + [""] * (layout.columns - len(parts))


def _split(line: str, layout: Layout) -> list[str] | None:
    """A line as one text a column, or None where it cannot be matched with the columns."""
    bare = line.lstrip("#%").strip("\r\n")
    if layout.delimiter != " ":
        parts = cells(bare, layout.delimiter)
        while len(parts) > layout.columns and not parts[-1]:
            parts.pop()
        if len(parts) > layout.columns or len(parts) < max(1, layout.columns // 2):
            if len(parts) == 1 and layout.delimiter != "\t":
                parts = [p.strip() for p in re.split(r"\t|\s{2,}", bare.strip())]
            if len(parts) != layout.columns:
                return None
        return parts
    for pattern in (r"\t+|\s{2,}", r"\s*[;,\t]\s*", r"\s+", r"(?<!/)(?<!vs)(?<!vs\.)\s+(?![/(\[])"):
        parts = [p for p in re.split(pattern, bare.strip()) if p]
        if len(parts) == layout.columns:
            return parts
    return None


def _short(parts: list[str], layout: Layout) -> bool:
    """Whether a row names fewer columns than hold numbers, so that it cannot be said which is which."""
    return len(parts) < layout.columns and any(i >= len(parts) for i in layout.numeric)


def _parted(layout: Layout, line: str) -> bool:
    """Whether a line is plainly parted as the rows of numbers are."""
    return layout.delimiter != " " and line.count(layout.delimiter) >= layout.columns - 1


def _worth(parts: list[str], *, plain: bool = True) -> float:
    """How much a row looks like names of columns; ``plain`` lets unknown names count a little."""
    sure = 0.0
    for part in parts:
        if part and kinds([part], ".") == "t" and kinds([part], ",") == "t" and len(part) < 80:
            heading = headings.parse(part)
            found, points = headings.role_of(heading)
            sure += points if found else 0.1
            sure += 0.5 if heading.name and found else 0
    all_text = all(kinds([part], layout_decimal) == "t" for part in parts if part for layout_decimal in ".,")
    return sure if sure >= 1 or (all_text and plain) else 0.0


def _units_only(parts: list[str]) -> bool:
    filled = [part for part in parts if part]
    known = sum(headings.unit_of(part) is not None for part in filled)
    return known >= 1 and known >= 0.3 * len(filled)


def _with_unit(column: Heading, unit: str) -> Heading:
    """A heading with the unit that stands in its own row."""
    if column.kind or not unit:
        return column
    if found := headings.unit_of(unit):
        return replace(column, unit=found[0], kind=found[1], other_unit=False)
    return replace(column, other_unit=True)


def _unmatched(layout: Layout, above: list[tuple[int, str]]) -> Heads:
    nothing = tuple(Heading(text="", name="") for _ in range(layout.columns))
    if not above:
        return Heads(columns=nothing)
    row, last = above[-1]
    for delimiter in (layout.delimiter, ";", "\t", ","):
        parts = [part for part in cells(last.lstrip("#%"), delimiter) if part]
        if len(parts) > 1 and _worth(parts) >= 2:
            doubt = f"the headings in line {row + 1} name {len(parts)} columns, but the rows of numbers have {layout.columns}"
            if layout.delimiter == "," and layout.columns >= 2 * len(parts) - 1:
                doubt += " (a decimal comma cannot be told from a comma between columns)"
            return Heads(columns=nothing, doubt=doubt)
    return Heads(columns=nothing)
