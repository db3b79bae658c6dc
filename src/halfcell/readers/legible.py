"""The text of a file in which its table is best read: as it stands, or with its numbers made plain."""

from __future__ import annotations

from dataclasses import dataclass, replace

from halfcell.readers.heads import Heads, find_heads
from halfcell.readers.hints import Hints
from halfcell.readers.layout import FEWEST, Layout, find_layout, rows_among
from halfcell.readers.mend import Mended, mended, paired
from halfcell.readers.source import Source

_LOOK = 1 << 16


@dataclass(frozen=True, slots=True, kw_only=True)
class Legible:
    """A text with its layout and headings, which are None where it has no table."""

    source: Source
    layout: Layout | None
    heads: Heads | None
    hints: Hints
    """What a person said, as far as it holds for this text."""
    notes: tuple[str, ...] = ()
    """What was changed."""
    clock: frozenset[int] = frozenset()
    """Columns whose times of day became seconds."""


def legible(source: Source, hints: Hints) -> Legible:
    """The text of a file as it is to be read. Raises ReadError where the comma cannot have both offices."""
    if hints.delimiter == hints.decimal == ",":
        pairs = paired(source)
        return _found(pairs.source, replace(hints, decimal="."), pairs.notes)
    plain = _found(source, hints)
    layout = plain.layout
    spaced = layout is not None and layout.delimiter == " " and not layout.words
    change = mended(source, hints.decimal, spaced=spaced)
    if change is None:
        return plain
    other = _found(change.source, replace(hints, decimal=change.decimal), change.notes)
    if other.layout is None or other.heads is None or other.heads.doubt or not _better(other, plain):
        return plain
    return replace(other, hints=hints, clock=_clocks(source, other.layout, change))


def _found(source: Source, hints: Hints, notes: tuple[str, ...] = ()) -> Legible:
    layout = find_layout(source, hints)
    heads = find_heads(layout) if layout is not None else None
    return Legible(source=source, layout=layout, heads=heads, hints=hints, notes=notes)


def _better(new: Legible, old: Legible) -> bool:
    """Whether more can be read of the new text: more columns of numbers, or more rows near the top."""
    if old.layout is None or old.heads is None or old.heads.doubt or new.layout is None:
        return True
    before = _lines(old.source, 0, 1 << 30)
    count = len(before)
    gained = len(new.layout.numeric), rows_among(_lines(new.source, 0, count), new.layout)
    return gained > (len(old.layout.numeric), rows_among(before, old.layout))


def _lines(source: Source, start: int, count: int) -> list[str]:
    """Some of the lines near the top of a text."""
    text = source.decode(source.part(0, _LOOK)).replace("\r\n", "\n").replace("\r", "\n")
    return text.split("\n")[start : start + count]


def _clocks(source: Source, layout: Layout, change: Mended) -> frozenset[int]:
    """Which columns of the table held times of day, by its first rows as they were."""
    if change.clock is None:
        return frozenset()
    rows = _lines(source, layout.first, FEWEST)
    return frozenset[int]().union(*map(change.clock.columns, rows))
