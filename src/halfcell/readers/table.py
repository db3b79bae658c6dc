"""The numbers of a table, read at the speed of a general-purpose parser and without a second copy."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import ReadError
from halfcell.readers.block import read_block
from halfcell.readers.layout import FEWEST, Layout, cells, kinds
from halfcell.readers.mend import grouped
from halfcell.readers.rows import Rows, read_rows, title_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from halfcell.readers.source import Source

_TAIL = 1 << 14


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Table:
    """Numbers column by column; ``block`` counts the blocks of rows from 0, None where there is one."""

    columns: dict[int, NDArray[np.float64]]
    block: NDArray[np.int64] | None = None
    notes: tuple[str, ...] = ()
    grouped: bool = False
    """Whether some lines hold a number with a mark between thousands, which is not read."""
    words: Mapping[int, str] = field(default_factory=dict)
    """The first cell of a column that holds a word where a number belongs."""


def read_table(source: Source, layout: Layout, wanted: tuple[int, ...]) -> Table:
    """The wanted columns of a table. Raises ReadError where less than a few rows can be read."""
    end, notes, after = _end(source, layout)
    found = _even(source, layout, wanted, end)
    table = (
        Table(columns=found, notes=notes)
        if found is not None
        else _parted(source, layout, wanted, end, notes)
    )
    table = replace(table, grouped=table.grouped or any(map(grouped, after)))
    if len(next(iter(table.columns.values()))) < FEWEST:
        raise ReadError(f"{source.name}: fewer than {FEWEST} rows of numbers could be read.")
    return table


def some_lines(count: int) -> str:
    """The beginning of a note on lines."""
    return "1 line" if count == 1 else f"{count} lines"


def _end(source: Source, layout: Layout) -> tuple[int, tuple[str, ...], list[str]]:
    """Where the last whole row ends, what was left out after it in words, and the lines themselves."""
    start = max(layout.offset, source.size - _TAIL)
    tail = source.part(start, source.size - start)
    lines = tail.split(b"\n")
    notes: list[str] = []
    stop = len(lines)
    texts = [source.decode(line).strip("\r") for line in lines]
    last = next((i for i in range(stop - 1, -1, -1) if texts[i].strip()), None)
    if last is None:
        return source.size, (), []
    if last == stop - 1 and _cut(texts[last], texts[max(0, last - 50) : last], layout):
        notes.append(f"the file ends within a row ({texts[last].strip()[:60]!r}); that row was left out")
        stop = last
    row = next((i for i in range(stop - 1, -1, -1) if _whole(texts[i], layout)), None)
    if row is None:
        return source.size, tuple(notes), []
    after = [t for t in texts[row + 1 : stop] if t.strip(" \t,;")]
    if after:
        notes.append(
            f"{some_lines(len(after))} after the table left out, the first: {after[0].strip()[:60]!r}"
        )
    return start + sum(len(line) + 1 for line in lines[: row + 1]), tuple(notes), after


def _whole(line: str, layout: Layout) -> bool:
    parts = cells(line, layout.delimiter)
    kind = kinds(parts, layout.decimal)
    return len(parts) == layout.columns and "n" in kind and all(kind[i] != "t" for i in layout.numeric)


def _cut(line: str, before: list[str], layout: Layout) -> bool:
    """Whether a last line without a line end stops in the middle of a row or of a number."""
    if not _whole(line, layout):
        return any(c.isdigit() for c in line) and not re.match(r"\s*[A-Za-z#]", line)
    rows = [cells(text, layout.delimiter) for text in before]
    shapes = [_shape(row[-1]) for row in rows if len(row) == layout.columns and row[-1]]
    own = _shape(cells(line, layout.delimiter)[-1])
    if len(shapes) < 2 or not own[0]:
        return False
    decimals = {s[1] for s in shapes}
    fixed = len(decimals) == 1 and own[1] < min(decimals)
    return fixed or own[0] < min(s[0] for s in shapes) or (all(s[2] for s in shapes) and not own[2])


def _shape(number: str) -> tuple[int, int, bool]:
    """Digits, digits after the decimal mark, and whether there is an exponent."""
    mantissa, _, exponent = number.lower().partition("e")
    after = re.split(r"[.,]", mantissa)
    return sum(c.isdigit() for c in number), len(after[1]) if len(after) > 1 else 0, bool(exponent)


def _even(
    source: Source, layout: Layout, wanted: tuple[int, ...], end: int
) -> dict[int, NDArray[np.float64]] | None:
    """The block in one go, or None where rows without any number part it."""
    arrays = read_block(source, layout, wanted, end)
    if arrays is None:
        return None
    if any(all_finite(array) for array in arrays.values()):
        return arrays
    empty = np.logical_and.reduce([np.isnan(array) for array in arrays.values()])
    if not empty.any():
        return arrays
    inside = np.flatnonzero(empty)
    if inside[0] != len(empty) - len(inside):
        return None
    return {i: array[: inside[0]] for i, array in arrays.items()}


def all_finite(array: NDArray[np.float64]) -> bool:
    """Whether every value is a finite number, in one pass without a second array."""
    with np.errstate(all="ignore"):
        return bool(np.isfinite(array.sum()) or np.isfinite(array).all())


def _parted(
    source: Source, layout: Layout, wanted: tuple[int, ...], end: int, notes: tuple[str, ...]
) -> Table:
    """A table with other lines between its rows."""
    rows = read_rows(source, layout, wanted, end)
    if rows.skipped:
        between = f"{some_lines(rows.skipped)} between the rows left out, the first: {rows.first_skipped!r}"
        notes = (*notes, between)
    rows, left = _own_rows(source, rows)
    block, numbered = _numbered(_blocks(rows.block), rows.titles, layout)
    said = (*notes, *left, *numbered)
    return Table(columns=rows.columns, block=block, notes=said, grouped=rows.grouped, words=rows.words)


def _own_rows(source: Source, rows: Rows) -> tuple[Rows, tuple[str, ...]]:
    """The rows that stand under the table's own headings. Raises ReadError where others cannot be told apart."""
    total = len(rows.block)
    for at, what, line in rows.headed:
        if not 0 < at < total:
            continue
        if what == "differ":
            raise ReadError(
                f"{source.name}: row {at + 1} of the numbers stands under other headings ({line!r}) than the first rows, "
                "so one file holds tables of different columns or units; save each as a file of its own."
            )
        if total - at < 0.5 * at:
            kept = {i: column[:at] for i, column in rows.columns.items()}
            said = f"{total - at} row{'s' * (total - at != 1)} at the end under other headings ({line!r}) left out"
            return replace(rows, columns=kept, block=rows.block[:at]), (said,)
    return rows, ()


def _numbered(
    block: NDArray[np.int64] | None, titles: tuple[tuple[int, int], ...], layout: Layout
) -> tuple[NDArray[np.int64] | None, tuple[str, ...]]:
    """The blocks under the numbers that stand above them, where each has one and they rise."""
    if block is None:
        return None, ()
    firsts = np.flatnonzero(np.diff(block, prepend=-1))
    above = [n for n in map(title_of, layout.above[-6:]) if n is not None][-1:]
    found = dict([(0, above[0])] if above else [])
    found |= {row: number for row, number in titles if row < len(block)}
    numbers = [found.get(int(row)) for row in firsts]
    if any(n is None or n < 1 for n in numbers) or numbers == list(range(1, len(firsts) + 1)):
        return block, ()
    said = np.array(numbers, dtype=np.int64)
    if np.any(np.diff(said) <= 0):
        return block, ("the numbers above the blocks do not rise; the blocks were counted instead",)
    return np.repeat(said - 1, np.diff(np.append(firsts, len(block)))), ()


def _blocks(block: NDArray[np.int64]) -> NDArray[np.int64] | None:
    """Block numbers where the blocks are of like size (the last may be cut off), else None."""
    if not len(block) or block[-1] == 0:
        return None
    sizes = np.bincount(block)
    sizes = sizes[sizes > 0]
    usual = float(np.median(sizes))
    if len(sizes) < 2 or usual < 3 * FEWEST or sizes[:-1].min() < 0.5 * usual or sizes.max() > 2 * usual:
        return None
    return block
