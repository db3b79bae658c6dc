"""The numbers of a table, read at the speed of a general-purpose parser and without a second copy."""

from __future__ import annotations

import re
import warnings
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, BinaryIO

import numpy as np

from halfcell.errors import ReadError
from halfcell.readers.layout import FEWEST, Layout, cells, kinds

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from halfcell.readers.source import Source

_CHUNK = 1 << 17
"""Rows parsed at a time."""
_TAIL = 1 << 16
_NAN_WORDS = ["nan", "NaN", "-nan", "NA", "N/A", "null", "none", "None", "-", "--", "---"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Table:
    """Numbers column by column; ``block`` counts the blocks of rows from 0, None where there is one."""

    columns: dict[int, NDArray[np.float64]]
    block: NDArray[np.int64] | None = None
    notes: tuple[str, ...] = ()


class _Tap:
    """A window on a file for the parser that also watches for empty lines between rows."""

    def __init__(self, handle: BinaryIO, left: int) -> None:
        self.handle, self.left = handle, left
        self.blank = self.pending = False

    def read(self, count: int = -1) -> bytes:
        piece = self.handle.read(self.left if count < 0 else min(count, self.left))
        self.left -= len(piece)
        self._watch(piece)
        return piece

    def __iter__(self) -> _Tap:
        return self

    def __next__(self) -> bytes:
        line = self.read(1 << 18)
        if not line:
            raise StopIteration
        return line

    def _watch(self, piece: bytes) -> None:
        if self.blank:
            return
        if self.pending and piece.strip():
            self.blank = True
        for mark in (b"\n\n", b"\n\r\n"):
            at = piece.find(mark)
            if at >= 0:
                self.pending = True
                self.blank = self.blank or bool(piece[at:].strip())


def read_table(source: Source, layout: Layout, wanted: tuple[int, ...]) -> Table:
    """The wanted columns of a table. Raises ReadError where less than a few rows can be read."""
    end, notes = _end(source, layout)
    found = _fast(source, layout, wanted, end)
    table = (
        Table(columns=found, notes=notes)
        if found is not None
        else _careful(source, layout, wanted, end, notes)
    )
    if len(next(iter(table.columns.values()))) < FEWEST:
        raise ReadError(f"{source.name}: fewer than {FEWEST} rows of numbers could be read.")
    return table


def _end(source: Source, layout: Layout) -> tuple[int, tuple[str, ...]]:
    """Where the last whole row ends, and what was left out after it."""
    start = max(layout.offset, source.size - _TAIL)
    tail = source.part(start, source.size - start)
    lines = tail.split(b"\n")
    notes: list[str] = []
    stop = len(lines)
    texts = [source.decode(line).strip("\r") for line in lines]
    last = next((i for i in range(stop - 1, -1, -1) if texts[i].strip()), None)
    if last is None:
        return source.size, ()
    if last == stop - 1 and _cut(texts[last], texts[max(0, last - 50) : last], layout):
        notes.append(f"the file ends within a row ({texts[last].strip()[:60]!r}); that row was left out")
        stop = last
    row = next((i for i in range(stop - 1, -1, -1) if _whole(texts[i], layout)), None)
    if row is None:
        return source.size, tuple(notes)
    after = [t for t in texts[row + 1 : stop] if t.strip(" \t,;")]
    if after:
        notes.append(
            f"{len(after)} lines after the table were left out, the first: {after[0].strip()[:60]!r}"
        )
    return start + sum(len(line) + 1 for line in lines[: row + 1]), tuple(notes)


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
    if len(shapes) < 5 or not own[0]:
        return False
    return own[0] < min(s[0] for s in shapes) or (all(s[1] for s in shapes) and not own[1])


def _shape(number: str) -> tuple[int, bool]:
    return sum(c.isdigit() for c in number), "e" in number.lower()


def _options(layout: Layout, wanted: tuple[int, ...]) -> dict[str, Any]:
    separator = r"\s+" if layout.delimiter == " " else layout.delimiter
    return {
        "sep": separator, "header": None, "names": list(range(layout.columns)), "usecols": list(wanted), "index_col": False,
        "dtype": np.float64, "decimal": layout.decimal, "engine": "c", "na_values": _NAN_WORDS, "skipinitialspace": layout.delimiter != " ",
    }  # fmt: skip


def _fast(
    source: Source, layout: Layout, wanted: tuple[int, ...], end: int
) -> dict[int, NDArray[np.float64]] | None:
    """One pass of the parser, or None where the rows are not all alike."""
    import pandas as pd

    rough = int((end - layout.offset) / max(1, _row_bytes(source, layout)) * 1.02) + 64
    arrays = {i: np.empty(rough) for i in wanted}
    count = 0
    with source.open(layout.offset) as handle, warnings.catch_warnings():
        warnings.simplefilter("error", pd.errors.ParserWarning)
        tap = _Tap(handle, end - layout.offset)
        try:
            with pd.read_csv(tap, chunksize=_CHUNK, **_options(layout, wanted)) as pieces:  # type: ignore[call-overload]
                for piece in pieces:
                    _room(arrays, count + len(piece))
                    for i in wanted:
                        arrays[i][count : count + len(piece)] = piece[i].to_numpy()
                    count += len(piece)
                    if tap.blank:
                        return None
        except (ValueError, pd.errors.ParserWarning, pd.errors.EmptyDataError, OverflowError):
            return None
    for array in arrays.values():
        array.resize(count, refcheck=False)
    empty = np.logical_and.reduce([np.isnan(a) for a in arrays.values()])
    if empty.any():
        inside = np.flatnonzero(empty)
        if inside[0] != count - len(inside):
            return None
        for array in arrays.values():
            array.resize(int(inside[0]), refcheck=False)
    return arrays


def _row_bytes(source: Source, layout: Layout) -> float:
    piece = source.part(layout.offset, 1 << 15)
    return len(piece) / max(1, piece.count(b"\n"))


def _room(arrays: dict[int, NDArray[np.float64]], needed: int) -> None:
    for array in arrays.values():
        if len(array) < needed:
            array.resize(int(needed * 1.2) + 64, refcheck=False)


def _careful(
    source: Source, layout: Layout, wanted: tuple[int, ...], end: int, notes: tuple[str, ...]
) -> Table:
    """Line by line, for tables with other lines between their rows."""
    text = source.decode(source.part(layout.offset, end - layout.offset))
    rows: list[list[float]] = []
    block: list[int] = []
    skipped: list[str] = []
    number, apart, damaged = 0, False, 0
    for line in text.split("\n"):
        parts = cells(line.rstrip("\r"), layout.delimiter)
        values = _values(parts, layout, wanted)
        if values is None:
            apart = apart or bool(rows)
            if line.strip(" \t\r,;"):
                skipped.append(line.strip())
            continue
        if apart:
            number, apart = number + 1, False
        damaged += len(parts) != layout.columns
        rows.append(values)
        block.append(number)
    grid = np.array(rows, dtype=np.float64).reshape(len(rows), len(wanted))
    blocks = np.array(block, dtype=np.int64)
    said = list(notes)
    if skipped:
        said.append(
            f"{len(skipped)} lines between the rows hold no numbers and were left out, the first: {skipped[0][:60]!r}"
        )
    return Table(
        columns={c: grid[:, k].copy() for k, c in enumerate(wanted)}, block=_blocks(blocks), notes=tuple(said)
    )


def _values(parts: list[str], layout: Layout, wanted: tuple[int, ...]) -> list[float] | None:
    """A row's wanted numbers, nan for an empty or unreadable cell; None where it is no row."""
    while len(parts) > layout.columns and not parts[-1]:
        parts.pop()
    if not FEWEST - 2 <= len(parts) <= layout.columns or len(parts) < min(layout.columns, max(wanted) + 1):
        return None
    kind = kinds(parts, layout.decimal)
    got = [kind[i] == "n" for i in wanted]
    if not any(got) or sum(kind[i] == "t" for i in wanted) > sum(got):
        return None
    return [
        float(parts[i].replace(",", ".")) if ok else float("nan") for i, ok in zip(wanted, got, strict=True)
    ]


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
