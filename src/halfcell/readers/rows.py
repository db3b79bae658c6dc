"""A table with other lines between its rows: the plain rows at full speed, the odd lines one by one."""

from __future__ import annotations

import io
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from halfcell.readers.block import parser_options
from halfcell.readers.heads import under_others
from halfcell.readers.layout import Layout, cells, kinds
from halfcell.readers.mend import grouped

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from halfcell.readers.source import Source

    Array = NDArray[np.float64]

_PIECE = 1 << 22


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rows:
    """The wanted columns, the block each row lies in (from 0), and the lines left out."""

    columns: dict[int, Array]
    block: NDArray[np.int64]
    skipped: int = 0
    first_skipped: str = ""
    grouped: bool = False
    """Whether some lines hold a number with a mark between thousands, which is not read."""
    words: dict[int, str] = field(default_factory=dict)
    """The first cell of a column, of the wanted ones, that holds a word where a number belongs."""
    titles: tuple[tuple[int, int], ...] = ()
    """(row from which it holds, number) of each line between the rows that gives a cycle's number."""
    headed: tuple[tuple[int, str, str], ...] = ()
    """(row from which it holds, what it is, line) of each line that reads like headings of another table."""


_TITLE = re.compile(
    r"\W*(?:cycle|zyklus|cyclus|scan|sweep)\s*(?:no\.?|nr\.?|number)?\s*[#:=.]?\s*(\d{1,5})\b", re.IGNORECASE
)


def title_of(line: str) -> int | None:
    """The number in a line such as "Cycle 2" or "# scan no. 3"."""
    found = _TITLE.match(line)
    return int(found.group(1)) if found else None


class _Reader:
    """Works through pieces of a file, keeping count of blocks and of lines left out."""

    def __init__(self, source: Source, layout: Layout, wanted: tuple[int, ...]) -> None:
        self.source, self.layout, self.wanted = source, layout, wanted
        self.under, self.count = under_others(layout), 0
        self.between: list[tuple[int, str]] = []
        self.titles: list[tuple[int, int]] = []
        self.headed: list[tuple[int, str, str]] = []
        self.number, self.apart, self.begun = 0, False, False
        self.skipped, self.first, self.grouped = 0, "", False
        self.words: dict[int, str] = {}
        mark = layout.delimiter if layout.delimiter != " " else ""
        self.plain = np.zeros(256, dtype=bool)
        self.plain[list(f"0123456789+-.eE \r\n{mark}{layout.decimal}".encode())] = True
        self.mark = ord(mark) if mark else None

    def piece(self, data: bytes) -> tuple[list[Array], NDArray[np.int64]]:
        """The columns and block numbers of the rows in some whole lines."""
        raw = np.frombuffer(data, dtype=np.uint8)
        ends = np.flatnonzero(raw == 10) + 1
        if not len(ends) or ends[-1] != len(raw):
            ends = np.append(ends, len(raw))
        starts = np.concatenate([[0], ends[:-1]])
        odd = np.add.reduceat(~self.plain[raw], starts, dtype=np.int64) > 0
        digits = np.add.reduceat((raw >= 48) & (raw <= 57), starts, dtype=np.int64) > 0
        even = ~odd & digits
        if self.mark is not None:
            even &= np.add.reduceat(raw == self.mark, starts, dtype=np.int64) == self.layout.columns - 1
        made: dict[int, list[float]] = {}
        self.between = []
        for i in np.flatnonzero(~even & (odd | digits)):
            values = self._odd_line(data[starts[i] : ends[i]], int(i))
            if values is not None:
                made[int(i)] = values
        columns = self._parsed(data, starts, ends, even)
        if columns is None:
            return self._line_by_line(data, starts, ends)
        rows = even.copy()
        rows[list(made)] = True
        if made:
            columns = self._merged(columns, even, rows, made)
        return columns, self._blocks(rows)

    def _odd_line(self, raw: bytes, at: int) -> list[float] | None:
        line = self.source.decode(raw).rstrip("\r\n")
        parts = cells(line, self.layout.delimiter)
        values = row_values(parts, self.layout, self.wanted)
        words = {
            i: parts[i][:30]
            for i, value in zip(self.wanted, values or (), strict=False)
            if math.isnan(value) and kinds((parts[i],), self.layout.decimal) == "t"
        }
        if values is None and line.strip(" \t,;"):
            self.skipped += 1
            self.first = self.first or line.strip()[:60]
            self.between.append((at, line))
        if values is None or words:
            self.grouped = self.grouped or grouped(line)
            self.words = words | self.words
        return values

    def _parsed(
        self, data: bytes, starts: NDArray[np.int64], ends: NDArray[np.int64], even: NDArray[np.bool_]
    ) -> list[Array] | None:
        """The even lines through the general-purpose parser, or None where it does not see as many rows."""
        import pandas as pd

        count = int(even.sum())
        if not count:
            return [np.empty(0) for _ in self.wanted]
        if count < len(even):
            edges = np.diff(np.concatenate([[0], even.astype(np.int8), [0]]))
            first, last = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1) - 1
            data = b"".join(data[starts[a] : ends[b]] for a, b in zip(first, last, strict=True))
        try:
            frame = pd.read_csv(
                io.BytesIO(data), **parser_options(self.layout, self.wanted, empty_cells=True)
            )
        except (ValueError, OverflowError, pd.errors.ParserWarning):
            return None
        if len(frame) != count:
            return None
        return [frame[i].to_numpy(dtype=np.float64) for i in self.wanted]

    def _merged(
        self,
        columns: list[Array],
        even: NDArray[np.bool_],
        rows: NDArray[np.bool_],
        made: dict[int, list[float]],
    ) -> list[Array]:
        """The rows of the parser and those of odd lines in their order."""
        place = np.cumsum(rows) - 1
        out = [np.empty(int(rows.sum())) for _ in columns]
        for k, column in enumerate(columns):
            out[k][place[even]] = column
            for i, values in made.items():
                out[k][place[i]] = values[k]
        return out

    def _line_by_line(
        self, data: bytes, starts: NDArray[np.int64], ends: NDArray[np.int64]
    ) -> tuple[list[Array], NDArray[np.int64]]:
        self.between, self.skipped = [], self.skipped - len(self.between)
        found = [self._odd_line(data[a:b], i) for i, (a, b) in enumerate(zip(starts, ends, strict=True))]
        rows = np.array([values is not None for values in found], dtype=bool)
        grid = np.array([v for v in found if v is not None], dtype=np.float64).reshape(-1, len(self.wanted))
        return [grid[:, k].copy() for k in range(len(self.wanted))], self._blocks(rows)

    def _blocks(self, rows: NDArray[np.bool_]) -> NDArray[np.int64]:
        """Block numbers of the rows of a piece: one more after each gap of lines that are none."""
        where = np.flatnonzero(rows)
        for at, line in self.between:
            row = self.count + int(np.searchsorted(where, at))
            if (number := title_of(line)) is not None:
                self.titles.append((row, number))
            if what := self.under(line):
                self.headed.append((row, what, line.strip()[:60]))
        self.count += len(where)
        if not len(where):
            self.apart = self.apart or (self.begun and len(rows) > 0)
            return np.empty(0, dtype=np.int64)
        steps = np.diff(where, prepend=where[0]) > 1
        steps[0] = self.begun and (self.apart or where[0] > 0)
        block = self.number + np.cumsum(steps)
        self.number, self.begun, self.apart = int(block[-1]), True, bool(where[-1] != len(rows) - 1)
        return block


def read_rows(source: Source, layout: Layout, wanted: tuple[int, ...], end: int) -> Rows:
    """All rows from the first to the byte ``end``, whatever stands between them."""
    reader = _Reader(source, layout, wanted)
    parts: list[list[Array]] = []
    blocks: list[NDArray[np.int64]] = []
    for data in _pieces(source, layout.offset, end):
        columns, block = reader.piece(data)
        parts.append(columns)
        blocks.append(block)
    joined = {}
    for k, column in enumerate(wanted):
        joined[column] = np.concatenate([part[k] for part in parts]) if parts else np.empty(0)
        for part in parts:
            part[k] = np.empty(0)
    block = np.concatenate(blocks) if blocks else np.empty(0, dtype=np.int64)
    return Rows(
        columns=joined, block=block, skipped=reader.skipped, first_skipped=reader.first, grouped=reader.grouped, words=reader.words,
        titles=tuple(reader.titles), headed=tuple(reader.headed),
    )  # fmt: skip


def _pieces(source: Source, begin: int, end: int) -> Iterator[bytes]:
    left = end - begin
    with source.open(begin) as handle:
        while left > 0 and (data := handle.read(min(_PIECE, left))):
            if len(data) < left and not data.endswith(b"\n"):
                data += handle.readline()
            yield data[:left]
            left -= len(data)


def row_values(parts: list[str], layout: Layout, wanted: tuple[int, ...]) -> list[float] | None:
    """A row's wanted numbers, nan for an empty or unreadable cell; None where it is no row."""
    while len(parts) > layout.columns and not parts[-1]:
        parts.pop()
    if len(parts) > layout.columns or len(parts) < min(layout.columns, max(wanted) + 1):
        return None
    kind = kinds(parts, layout.decimal)
    got = [kind[i] == "n" for i in wanted]
    if not any(got) or sum(kind[i] == "t" for i in wanted) > sum(got):
        return None
    return [
        float(parts[i].replace(",", ".")) if ok else float("nan") for i, ok in zip(wanted, got, strict=True)
    ]
