"""The text of a file in which its table is best read: as it stands, or with its numbers made plain."""

from __future__ import annotations

from dataclasses import dataclass, replace

from halfcell.readers.heads import Heads, find_heads
from halfcell.readers.hints import Hints
from halfcell.readers.layout import FEWEST, Layout, find_layout, rows_among
from halfcell.readers.mend import LOOK, Mended, mended, paired
from halfcell.readers.source import Source


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


def legible(source: Source, hints: Hints, look: int = LOOK) -> Legible:
    """The text of a file as it is to be read, judged by its first bytes, as many as ``look``.

    Raises ReadError where the comma cannot have both offices.
    """
    if hints.delimiter == hints.decimal == ",":
        pairs = paired(source)
        return _found(pairs.source, replace(hints, decimal="."), pairs.notes)
    plain = _found(source, hints)
    layout = plain.layout
    spaced = layout is not None and layout.delimiter == " " and not layout.words
    change = mended(source, hints.decimal, spaced=spaced, look=look)
    if change is None:
        return plain
    other = _found(change.source, replace(hints, decimal=change.decimal), change.notes)
    if other.layout is None or other.heads is None or other.heads.doubt or not _better(other, plain, look):
        return plain
    return replace(other, hints=hints, clock=_clocks(source, other.layout, change))


def _found(source: Source, hints: Hints, notes: tuple[str, ...] = ()) -> Legible:
    layout = find_layout(source, hints)
    heads = find_heads(layout) if layout is not None else None
    return Legible(source=source, layout=layout, heads=heads, hints=hints, notes=notes)


def _better(new: Legible, old: Legible, look: int) -> bool:
    """Whether more can be read of the new text: more columns of numbers, or more rows."""
    if old.layout is None or old.heads is None or old.heads.doubt or new.layout is None:
        return True
    before = _lines(old.source, look)
    after = _lines(new.source, look)[: len(before)]
    gained = len(new.layout.numeric), rows_among(after, new.layout)
    return gained > (len(old.layout.numeric), rows_among(before, old.layout))


def _lines(source: Source, look: int) -> list[str]:
    """The lines within the first bytes of a text."""
    text = source.decode(source.part(0, look)).replace("\r\n", "\n").replace("\r", "\n")
    return text.split("\n")


def _clocks(source: Source, layout: Layout, change: Mended) -> frozenset[int]:
    """Which columns of the table held times of day, by its first rows as they were."""
    if change.clock is None:
        return frozenset()
    rows = _lines(source, LOOK)[layout.first : layout.first + FEWEST]
    return frozenset[int]().union(*map(change.clock.columns, rows))
