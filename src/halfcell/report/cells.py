"""Table cells: numbers under each other at the decimal point."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from halfcell.report.blocks import Table

__all__ = ["Cell", "Column", "aligned", "capital"]

_NUMBER = re.compile(
    r"^(?P<whole>[<>≤≥]?\s?[−-]?\d+)(?P<part>(?:\.\d+)?(?:×10[⁰¹²³⁴⁵⁶⁷⁸⁹⁻]+)?)"
    r"(?: ± (?P<u_whole>\d+)(?P<u_part>(?:\.\d+)?(?:×10[⁰¹²³⁴⁵⁶⁷⁸⁹⁻]+)?))?(?P<tail>(?:\s\D*(?:\(n = \d+\))?)?)$",
    re.DOTALL,
)
_EMPTY = {"", "–", "∞", "−∞"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One cell; where ``number`` is true its parts are set in the widths of its column."""

    text: str
    number: bool = False
    whole: str = ""
    part: str = ""
    u_whole: str = ""
    u_part: str = ""
    tail: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """Widths in digits of a column's numbers, or ``number`` false for words."""

    number: bool = False
    whole: int = 0
    part: int = 0
    u_whole: int = 0
    u_part: int = 0

    signed: bool = False

    @property
    def whole_width(self) -> float:
        """Width of the whole digits; a sign is wider than a digit."""
        return self.whole + (0.4 if self.signed else 0.0)

    @property
    def part_width(self) -> float:
        """Width of what follows the whole digits; a point is narrower than a digit."""
        return max(self.part - 0.55, 0.0)

    @property
    def u_part_width(self) -> float:
        """The same for the uncertainty."""
        return max(self.u_part - 0.55, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Aligned:
    """A table's columns and its cells."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]


def aligned(table: Table) -> Aligned:
    """The table with numbers taken apart; a column is numeric when all its cells that say anything are."""
    count = len(table.head)
    rows = [tuple(row) + ("",) * (count - len(row)) for row in table.rows]
    numeric = [_is_numeric([row[i] for row in rows]) for i in range(count)]
    cells = tuple(tuple(_cell(row[i], number=numeric[i]) for i in range(count)) for row in rows)
    return Aligned(columns=tuple(_column(i, cells, number=numeric[i]) for i in range(count)), rows=cells)


def _is_numeric(texts: list[str]) -> bool:
    said = [text for text in texts if text.strip() not in _EMPTY]
    return bool(said) and all(_NUMBER.match(text.strip()) for text in said)


def _cell(text: str, *, number: bool) -> Cell:
    match = _NUMBER.match(text.strip()) if number else None
    if match is None:
        return Cell(text=text)
    parts = {name: value or "" for name, value in match.groupdict().items()}
    return Cell(text=text, number=True, **parts)


def _column(i: int, rows: tuple[tuple[Cell, ...], ...], *, number: bool) -> Column:
    if not number:
        return Column()
    cells = [row[i] for row in rows if row[i].number]
    widest = {
        name: max(len(getattr(c, name)) for c in cells) for name in ("whole", "part", "u_whole", "u_part")
    }
    return Column(number=True, signed=any(not c.whole[:1].isdigit() for c in cells), **widest)


def capital(text: str) -> str:
    """A head begins with a capital where it begins with a word; a symbol stays as it is."""
    return text[:1].upper() + text[1:] if re.match(r"[a-z]{3,}", text) else text
