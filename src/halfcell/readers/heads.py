"""Which of the lines above a table are its headings and units, one Heading a column."""

from __future__ import annotations

import re
from collections.abc import Callable
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
    pairs: bool = False
    """Whether the comma may both part the columns and be the decimal mark."""


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


def own_text(heads: Heads, column: int) -> str:
    """The heading of a further column, with its number where headings repeat or are empty."""
    text = heads.columns[column].text
    alone = sum(h.text == text for h in heads.columns) == 1
    return text if text and alone else f"{text} (column {column + 1})".strip()


def under_others(layout: Layout) -> Callable[[str], str]:
    """A test of lines between rows: empty, ``names`` for headings of another table, ``differ`` for
    headings of the same quantities in another order or unit."""
    own = find_heads(layout).columns
    known = {_alike(line) for line in layout.above[-_LOOK:]}

    def test(line: str) -> str:
        if line.lstrip().startswith(("#", "%")) or _alike(line) in known:
            return ""
        parts = cells(line, layout.delimiter) if layout.delimiter != " " else _split(line, layout) or []
        while len(parts) > layout.columns and not parts[-1]:
            parts.pop()
        if not 2 <= len(parts) <= layout.columns or not all(_name(part) for part in parts):
            return ""
        found = [headings.parse(part) for part in parts]
        if any(_differ(a, b) for a, b in zip(own, found, strict=False)):
            return "differ"
        return "" if any(headings.role_of(heading)[0] for heading in found) else "names"

    return test


def _alike(line: str) -> str:
    return re.sub(r"[\s\d]+", "", line.strip(" \t\r\n,;"))


def _name(text: str) -> bool:
    """Whether a cell may be a heading: some letters, few words, no number."""
    return (
        any(c.isalpha() for c in text)
        and len(text) < 40
        and len(text.split()) <= 4
        and text[-1] not in ".!?:"
    )


def _differ(own: Heading, found: Heading) -> bool:
    """Whether two headings of one column name different quantities or units."""
    before, after = headings.role_of(own)[0], headings.role_of(found)[0]
    if before and after and before != after:
        return True
    return bool(own.unit and found.unit and own.unit != found.unit)


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
            pairs = layout.delimiter == "," and layout.columns == 2 * len(parts)
            doubt = f"the headings in line {row + 1} name {len(parts)} columns, but the rows of numbers have {layout.columns}"
            if pairs:
                doubt += " (a decimal comma cannot be told from a comma between columns)"
            return Heads(columns=nothing, doubt=doubt, pairs=pairs)
    return Heads(columns=nothing)
