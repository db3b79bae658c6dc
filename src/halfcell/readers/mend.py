"""Numbers written for people, turned into plain ones: thousands marks, quoted decimal commas, clock times.

A file is looked at in this way only where it cannot be read as it stands, and what was changed is said.
Only spellings with one possible meaning are changed: "1,234" alone may be either, "1,234.5" is not.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date

from halfcell.errors import ReadError
from halfcell.readers.layout import Layout
from halfcell.readers.source import Source

_LOOK = 1 << 16
_LARGEST = 1 << 25
"""Bytes above which a file is not turned into another text."""
_WRITTEN = re.compile(
    r".*\d:\d\d:\d.*|[-+]?\d{1,3}(?:[., '’\u00a0\u202f]\d{3}){2,}(?:[.,]\d*)?"
    r"|[-+]?\d{1,3}(?:,\d{3})+\.\d+|[-+]?\d{1,3}(?:\.\d{3})+,\d+|[-+]?\d{1,3}(?:[ '’\u00a0\u202f]\d{3})+(?:[.,]\d*)?"
)
_DAY = 86_400.0
_CELL = r"(?:(?<=[;\t])|(?<=^))[ \t]*\"?[ ]*"
_STOP = r"[ ]*\"?[ ]*(?=$|[;\t\r])"
_COMMA_CELL = r"(?:(?<=,)|(?<=^))[ ]*\"?[ ]*"
_COMMA_STOP = r"[ ]*\"?[ ]*(?=$|[,\r])"
_DATE = r"(?:(\d{4})-(\d\d)-(\d\d)|(\d{1,2})\.(\d{1,2})\.(\d{4}))"
_COMMA_NUMBER, _POINT_NUMBER = re.compile(r"[;\t] *[-+]?\d+,\d"), re.compile(r"[;\t] *[-+]?\d+\.\d")
_CLOCK = r"(\d{1,3}):(\d\d):(\d\d(?:[.,]\d+)?)"


@dataclass(frozen=True, slots=True, kw_only=True)
class Mended:
    """A file as another text, and what was changed in it."""

    source: Source
    notes: tuple[str, ...]
    clock: bool = False
    """Whether times of day became seconds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Way:
    """One spelling: the cells it is met in, what proves it, and what becomes of it."""

    cell: re.Pattern[str]
    proof: re.Pattern[str]
    plain: Callable[[re.Match[str]], str]
    said: str


def _without(marks: str, decimal: str = ".") -> Callable[[re.Match[str]], str]:
    gone = str.maketrans("", "", marks)
    return lambda m: m.group(1).translate(gone).replace(decimal, "." if decimal == "," else decimal)


def _compiled(cell: str, stop: str, body: str) -> re.Pattern[str]:
    return re.compile(f"{cell}({body}){stop}", re.MULTILINE)


_SAID = "numbers with a mark between thousands, such as {0!r}, were read without it"
_COMMAS, _POINTS = r"[-+]?\d{1,3}(?:,\d{3})+", r"[-+]?\d{1,3}(?:\.\d{3})+"
_SPACES = r"[-+]?\d{1,3}(?:[ '\u2019\u00a0\u202f\u2009]\d{3})+(?:[.,]\d+)?"
_QUOTED = re.compile(rf'"({_COMMAS}(?:\.\d+)?)"')
_GROUPED_BY_COMMAS = _Way(
    cell=_compiled(_CELL, _STOP, rf"{_COMMAS}(?:\.\d*)?"),
    proof=_compiled(_CELL, _STOP, rf"{_COMMAS}(?:\.\d+|,\d{{3}})"),
    plain=_without(","),
    said=_SAID,
)
_GROUPED_BY_POINTS = _Way(
    cell=_compiled(_CELL, _STOP, rf"{_POINTS}(?:,\d*)?"),
    proof=_compiled(_CELL, _STOP, rf"{_POINTS}(?:,\d+|\.\d{{3}})"),
    plain=_without("."),
    said=_SAID,
)
_WAYS = (
    _Way(cell=_QUOTED, proof=re.compile(rf'"({_COMMAS}(?:\.\d+|,\d{{3}}))"'), plain=_without(","), said=_SAID),
    _Way(
        cell=re.compile(r'"([-+]?\d*,\d+(?:[eE][-+]?\d+)?)"'),
        proof=re.compile(r'"([-+]?\d*,(?:\d{1,2}|\d{4,})(?:[eE][-+]?\d+)?)"'),
        plain=lambda m: m.group(1).replace(",", "."),
        said="numbers with a decimal comma within quotes, such as {0!r}, were read as such",
    ),
    _GROUPED_BY_COMMAS,
    _GROUPED_BY_POINTS,
    _Way(
        cell=_compiled(_CELL, _STOP, _SPACES), proof=_compiled(_CELL, _STOP, _SPACES),
        plain=_without(" '\u2019\u00a0\u202f\u2009"), said=_SAID,
    ),
    _Way(
        cell=re.compile(r"(?<![\w.])([-+]?\d+[.,]?\d*[dD][-+]\d{1,3})(?!\w)"),
        proof=re.compile(r"(?<![\w.])([-+]?\d+[.,]\d+[dD][-+]\d{1,3})(?!\w)"),
        plain=lambda m: re.sub("[dD]", "e", m.group(1)),
        said="exponents written with a D, such as {0!r}, were read as such",
    ),
)  # fmt: skip


def written_for_people(layout: Layout) -> bool:
    """Whether some column holds numbers as people write them."""
    cells = [row[i] for row in layout.rows[:40] for i in range(min(layout.columns, len(row)))]
    return any(_WRITTEN.fullmatch(cell) for cell in cells)


def mended(source: Source, decimal: str = "") -> Mended | None:
    """A file with its numbers made plain, or None where there is nothing of the kind in it.

    With a person's word on the ``decimal`` mark the other mark stands between thousands.
    """
    if source.size > _LARGEST:
        return None
    look = source.decode(source.part(0, _LOOK)).replace("\r", "")
    sure = {",": _GROUPED_BY_POINTS, ".": _GROUPED_BY_COMMAS}.get(decimal)
    ways = [(way, found) for way in _WAYS if (found := _proof(way, look, sure=way is sure)) is not None]
    times = _times(look)
    if not ways and times is None:
        return None
    text = source.decode(source.part(0, source.size)).replace("\r\n", "\n").replace("\r", "\n")
    notes = []
    for way, found in ways:
        text = way.cell.sub(way.plain, text)
        notes.append(way.said.format(found))
    if times is not None:
        text, said = _seconds(text, times)
        notes.append(said)
    data = text.encode()
    return Mended(
        source=replace(source, begin=0, size=len(data), text=data),
        notes=tuple(notes),
        clock=times is not None,
    )


def _proof(way: _Way, look: str, *, sure: bool) -> str | None:
    found = [m.group(1) for m in (way.cell if sure else way.proof).finditer(look)]
    return found[0] if len(found) > 2 else None


def _times(look: str) -> re.Pattern[str] | None:
    """The pattern of the cells that hold a time of day, with or without a date, if many lines have one."""
    for cell, stop in (
        (_CELL, _STOP),
        (_COMMA_CELL, _COMMA_STOP),
        (r"(?:(?<=[ \t])|(?<=^))", r"(?=$|[ \t])"),
    ):
        pattern = re.compile(f"{cell}(?:{_DATE}[T ][ ]*)?{_CLOCK}Z?{stop}", re.MULTILINE)
        if len(pattern.findall(look)) > 2:
            return pattern
    return None


def _seconds(text: str, pattern: re.Pattern[str]) -> tuple[str, str]:
    """A text whose times are seconds since midnight of the first day; a clock that falls back starts a new day."""
    first: int | None = None
    before, days, example = 0.0, 0, ""
    look = text[:_LOOK]
    mark = "," if len(_COMMA_NUMBER.findall(look)) > len(_POINT_NUMBER.findall(look)) else "."

    def plain(match: re.Match[str]) -> str:
        nonlocal first, before, days, example
        year, month, day, day2, month2, year2, hours, minutes, seconds = match.groups()
        value = 3600.0 * int(hours) + 60.0 * int(minutes) + float(seconds.replace(",", "."))
        example = match.group().strip(' "')
        if year or year2:
            try:
                at = date(int(year or year2), int(month or month2), int(day or day2)).toordinal()
            except ValueError:
                return match.group()
            first = at if first is None else first
            return repr(round(value + _DAY * (at - first), 6)).replace(".", mark)
        if value + _DAY * days < before - 0.5 * _DAY:
            days += 1
        before = value + _DAY * days
        return repr(round(before, 6)).replace(".", mark)

    changed = pattern.sub(plain, text)
    return changed, f"times of day, such as {example!r}, were read as seconds since the first"


def paired(source: Source) -> Mended:
    """A file in which the comma parts the columns and is the decimal mark: every two cells are one number.

    Lines with an odd count of cells, or whose second cells hold more than digits, stay as they are.
    Raises ReadError where no line is of that kind.
    """
    text = source.decode(source.part(0, source.size)).replace("\r\n", "\n").replace("\r", "\n")
    lines = text.split("\n")
    joined = [_joined(line) for line in lines]
    if joined == lines:
        raise ReadError(
            f"{source.name}: the comma cannot be the delimiter and the decimal mark at once here; "
            "that needs two cells a number, as in -0,2500,1,75 for -0.25 and 1.75."
        )
    data = "\n".join(joined).encode()
    said = "the comma was read as the decimal mark and as the mark between columns, two cells a number"
    return Mended(source=replace(source, begin=0, size=len(data), text=data), notes=(said,))


def _joined(line: str) -> str:
    cells = [cell.strip() for cell in line.rstrip(", ").split(",")]
    wholes, parts = cells[::2], cells[1::2]
    fits = len(wholes) == len(parts) and all(re.fullmatch(r"[-+]?\d+", c) for c in wholes)
    if not fits or not all(re.fullmatch(r"\d+(?:[eE][-+]?\d+)?", c) for c in parts):
        return line
    return ",".join(f"{a}.{b}" for a, b in zip(wholes, parts, strict=True))
