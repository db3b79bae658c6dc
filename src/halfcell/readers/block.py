"""One even block of numbers, parsed at full speed straight into its arrays.

A large file that is nothing but a few lines and the block is given to the parser whole. Else the
block is cut into as many parts as there are cores; a first pass counts lines so that the arrays are
made once at their right size, a second parses each part into its place. A line that is not a row
makes the counts differ or the parser fail; the caller then goes line by line.
"""

from __future__ import annotations

import os
import warnings
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, BinaryIO

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from halfcell.readers.layout import Layout
    from halfcell.readers.source import Source

ROWS_AT_ONCE = 1 << 16
_PIECE = 1 << 20
_WORTH_A_THREAD = 16_000_000
"""Bytes of text for which a thread of its own pays."""
NOTHING = ["nan", "NaN", "-nan", "NA", "N/A", "null", "none", "None", "-", "--", "---"]
"""Words for an empty cell."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Part:
    begin: int
    end: int
    first: int
    rows: int


class _Window:
    """A window on a file for the parser, given as bytes so that nothing is decoded twice."""

    def __init__(self, handle: BinaryIO, left: int) -> None:
        self.handle, self.left = handle, left

    def read(self, count: int = -1) -> bytes:
        """At most ``count`` bytes of the window."""
        piece = self.handle.read(self.left if count < 0 else min(count, self.left))
        self.left -= len(piece)
        return piece

    def __iter__(self) -> _Window:
        return self

    def __next__(self) -> bytes:
        piece = self.read(_PIECE)
        if not piece:
            raise StopIteration
        return piece


def read_block(
    source: Source, layout: Layout, wanted: tuple[int, ...], end: int
) -> dict[int, NDArray[np.float64]] | None:
    """The wanted columns from the first row to the byte ``end``, or None where not every line is a row."""
    if _plain(source, layout, wanted, end) and (whole := _whole(source, layout)) is not None:
        return whole
    cuts = _cuts(source, layout.offset, min(end, source.size))
    with ExitStack() as stack:
        alike: Any = map
        if len(cuts) > 2:
            alike = stack.enter_context(ThreadPoolExecutor(len(cuts) - 1)).map
        counts = list(alike(lambda k: _lines(source, cuts[k], cuts[k + 1]), range(len(cuts) - 1)))
        arrays = {i: np.empty(sum(counts)) for i in wanted}
        parts = [
            _Part(begin=cuts[k], end=cuts[k + 1], first=sum(counts[:k]), rows=counts[k])
            for k in range(len(counts))
        ]
        for empty_cells in (False, True):
            options = parser_options(layout, wanted, empty_cells=empty_cells)
            if all(list(alike(lambda part, o=options: _parse(source, part, arrays, o), parts))):
                return arrays
    return None


def _plain(source: Source, layout: Layout, wanted: tuple[int, ...], end: int) -> bool:
    """Whether the parser can be given a large file as it is: it then goes to all cores by itself.

    That is where it need only leave out some lines at the top, which it counts as we do.
    """
    if source.text is not None or end < source.size or len(wanted) < layout.columns:
        return False
    if source.size - layout.offset < _WORTH_A_THREAD or layout.offset > _PIECE:
        return False
    above = source.part(0, layout.offset).replace(b"\r\n", b"\n")
    return not above.startswith(b"\n") and not any(mark in above for mark in (b"\n\n", b"\r", b'"'))


def _whole(source: Source, layout: Layout) -> dict[int, NDArray[np.float64]] | None:
    """Every column of a large file, or None where not every line is a row with a number in each cell."""
    import pandas as pd

    options = parser_options(layout, (), empty_cells=False) | {"usecols": None}
    above = source.part(0, layout.offset).count(b"\n")
    with warnings.catch_warnings():
        warnings.simplefilter("error", pd.errors.ParserWarning)
        try:
            frame = pd.read_csv(source.path, skiprows=above, skip_blank_lines=False, **options)
        except (ValueError, OverflowError, pd.errors.ParserWarning):
            return None
    arrays = {i: frame[i].to_numpy() for i in range(layout.columns)}
    for array in arrays.values():
        array.setflags(write=True)  # they are ours alone: the frame is gone when this returns
    return arrays


def parser_options(layout: Layout, wanted: tuple[int, ...], *, empty_cells: bool) -> dict[str, Any]:
    """How the general-purpose parser is told to read the rows."""
    return {
        "sep": r"\s+" if layout.delimiter == " " else layout.delimiter,
        "header": None,
        "names": list(range(layout.columns)),
        "usecols": list(wanted),
        "index_col": False,
        "dtype": np.float64,
        "decimal": layout.decimal,
        "engine": "c",
        "na_filter": empty_cells,
        "na_values": NOTHING if empty_cells else None,
    }


def _cuts(source: Source, begin: int, end: int) -> list[int]:
    """Offsets of whole lines that cut the block into parts."""
    wanted = max(1, min(os.cpu_count() or 1, 4, (end - begin) // _WORTH_A_THREAD))
    cuts = [begin]
    with source.open() as handle:
        start = handle.tell()
        for k in range(1, wanted):
            handle.seek(start + begin + (end - begin) * k // wanted)
            handle.readline()
            cuts.append(handle.tell() - start)
    return [*cuts, end]


def _lines(source: Source, begin: int, end: int) -> int:
    """Line ends in a part, and one more where its last line has none."""
    count, last, left = 0, b"\n", end - begin
    with source.open(begin) as handle:
        while left > 0 and (piece := handle.read(min(_PIECE, left))):
            left -= len(piece)
            count += int(np.count_nonzero(np.frombuffer(piece, dtype=np.uint8) == 10))
            last = piece[-1:]
    return count + (last != b"\n")


def _parse(
    source: Source, part: _Part, arrays: dict[int, NDArray[np.float64]], options: dict[str, Any]
) -> bool:
    """Fill a part's place in the arrays; False where its lines are not all rows."""
    import pandas as pd

    done = 0
    with source.open(part.begin) as handle, warnings.catch_warnings():
        warnings.simplefilter("error", pd.errors.ParserWarning)
        window: Any = _Window(handle, part.end - part.begin)
        try:
            with pd.read_csv(window, chunksize=ROWS_AT_ONCE, **options) as pieces:
                for piece in pieces:
                    if done + len(piece) > part.rows:
                        return False
                    place = slice(part.first + done, part.first + done + len(piece))
                    for i, array in arrays.items():
                        array[place] = piece[i].to_numpy()
                    done += len(piece)
        except (ValueError, OverflowError, pd.errors.ParserWarning):
            return False
    return done == part.rows
