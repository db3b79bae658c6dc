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
from halfcell.readers.source import Source

LOOK = 1 << 16
"""Bytes in which numbers written for people are looked for."""
LARGEST = 1 << 25
"""Bytes above which a file is not turned into another text."""
_DAY = 86_400.0
_CELL = r"(?:(?<=[;\t])|(?<=^))[ ]*\"?[ ]*"
_STOP = r"[ ]*\"?[ ]*(?=$|[;\t\r])"
_COMMA_CELL = r"(?:(?<=,)|(?<=^))[ ]*\"?[ ]*"
_COMMA_STOP = r"[ ]*\"?[ ]*(?=$|[,\r])"
_DATE = r"(?:(\d{4})-(\d\d)-(\d\d)|(\d{1,2})\.(\d{1,2})\.(\d{4}))"
_COMMA_NUMBER, _POINT_NUMBER = re.compile(r"[;\t] *[-+]?\d+,\d"), re.compile(r"[;\t] *[-+]?\d+\.\d")
_CLOCK = r"(\d{1,3}):(\d\d):(\d\d(?:[.,]\d+)?)"
_NO_HALF_DAY = r"(?![ \t;,\"]*[AaPp]\.?[Mm]\b)"
"""A clock of twice twelve hours is not read: the half of the day stands behind it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Clock:
    """The cells that hold a time of day: their pattern, and the marks between cells it is meant for."""

    cell: re.Pattern[str]
    marks: str

    def columns(self, line: str) -> frozenset[int]:
        """Which cells of a line, from 0, hold a time of day."""
        before, at, found = "", 0, set()
        for match in self.cell.finditer(line):
            before += line[at : match.start()]
            found.add(self.column(before))
            before, at = before + "0", match.end()
        return frozenset(found)

    def column(self, before: str) -> int:
        """The place of a cell by what stands before it in its line."""
        return len(before.split()) if self.marks == " " else sum(before.count(mark) for mark in self.marks)


@dataclass(frozen=True, slots=True, kw_only=True)
class Mended:
    """A file as another text of as many lines, and what was changed in it."""

    source: Source
    notes: tuple[str, ...]
    decimal: str = ""
    """The decimal mark of the new text, where a person's word on it still holds."""
    clock: Clock | None = None
    """The times of day that became seconds."""


@dataclass(slots=True)
class _Days:
    """What is known of the clock of one column so far."""

    first: int | None = None
    before: float = 0.0
    days: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Way:
    """One spelling: the cells it is met in, what proves it, and what becomes of it."""

    cell: re.Pattern[str]
    proof: re.Pattern[str]
    plain: Callable[[re.Match[str]], str]
    said: str
    sign: re.Pattern[str]
    """What is there wherever the cell is, and quickly looked for."""
    against: re.Pattern[str] | None = None
    """Cells that show the mark to be a decimal one: numbers below one."""


def _without(marks: str, decimal: str = ".") -> Callable[[re.Match[str]], str]:
    gone = str.maketrans("", "", marks)
    return lambda m: m.group(1).translate(gone).replace(decimal, "." if decimal == "," else decimal)


def _compiled(cell: str, stop: str, body: str) -> re.Pattern[str]:
    return re.compile(f"{cell}({body}){stop}", re.MULTILINE)


_SAID = "numbers with a mark between thousands, such as {0!r}, were read without it"
_COMMAS, _POINTS = r"[-+]?[1-9]\d{0,2}(?:,\d{3})+", r"[-+]?[1-9]\d{0,2}(?:\.\d{3})+"
_THIN = "'\u2019\u00a0\u202f\u2009"
_SPACES = rf"[-+]?[1-9]\d{{0,2}}(?:[ {_THIN}]\d{{3}})+(?:[.,]\d+)?"
_GROUPED_BY_COMMAS = _Way(
    cell=_compiled(_CELL, _STOP, rf"{_COMMAS}(?:\.\d*)?"),
    proof=_compiled(_CELL, _STOP, rf"{_COMMAS}(?:\.\d+|,\d{{3}})"),
    plain=_without(","),
    said=_SAID,
    sign=re.compile(r",\d{3}(?!\d)"),
    against=_compiled(_CELL, _STOP, r"[-+]?0*,\d+"),
)
_GROUPED_BY_POINTS = _Way(
    cell=_compiled(_CELL, _STOP, rf"{_POINTS}(?:,\d*)?"),
    proof=_compiled(_CELL, _STOP, rf"{_POINTS}(?:,\d+|\.\d{{3}})"),
    plain=_without("."),
    said=_SAID,
    sign=re.compile(r"\.\d{3}(?!\d)"),
    against=_compiled(_CELL, _STOP, r"[-+]?0*\.\d+"),
)
_QUOTED_GROUPS = _Way(
    cell=re.compile(rf'"({_COMMAS}(?:\.\d+)?)"'),
    proof=re.compile(rf'"({_COMMAS}(?:\.\d+|,\d{{3}}))"'),
    plain=_without(","),
    said=_SAID,
    sign=re.compile(r'"[-+]?\d{1,3},'),
    against=re.compile(r'"([-+]?0*,\d+)"'),
)
_BETWEEN_COMMAS = r'(?:(?<=,)|(?<=^))[ ]*"({})"[ ]*(?=,|$)'
_QUOTED_COMMA = _Way(
    cell=re.compile(_BETWEEN_COMMAS.format(r"[-+]?\d*,\d+(?:[eE][-+]?\d+)?"), re.MULTILINE),
    proof=re.compile(_BETWEEN_COMMAS.format(r"[-+]?\d*,(?:\d{1,2}|\d{4,})(?:[eE][-+]?\d+)?"), re.MULTILINE),
    plain=lambda m: m.group(1).replace(",", "."),
    said="numbers with a decimal comma within quotes, such as {0!r}, were read as such",
    sign=re.compile(r',\d[^,"\n]*"'),
)
_GROUPED_BY_SPACES = _Way(
    cell=_compiled(_CELL, _STOP, _SPACES),
    proof=_compiled(_CELL, _STOP, _SPACES),
    plain=_without(f" {_THIN}"),
    said=_SAID,
    sign=re.compile(rf"\d[ {_THIN}]\d{{3}}(?!\d)"),
)
_WITH_A_D = _Way(
    cell=re.compile(r"(?<![\w.])([-+]?\d+[.,]?\d*[dD][-+]\d{1,3})(?!\w)"),
    proof=re.compile(r"(?<![\w.])([-+]?\d+[.,]\d+[dD][-+]\d{1,3})(?!\w)"),
    plain=lambda m: re.sub("[dD]", "e", m.group(1)),
    said="exponents written with a D, such as {0!r}, were read as such",
    sign=re.compile(r"\d[dD][-+]\d"),
)
_WAYS = (_QUOTED_GROUPS, _QUOTED_COMMA, _GROUPED_BY_COMMAS, _GROUPED_BY_POINTS, _GROUPED_BY_SPACES, _WITH_A_D)
_SURE = {",": (_GROUPED_BY_POINTS,), ".": (_GROUPED_BY_COMMAS, _QUOTED_GROUPS)}


def grouped(line: str) -> bool:
    """Whether a cell of a line is a number with a mark between thousands."""
    return any(way.said == _SAID and way.cell.search(line) for way in _WAYS)


def mended(source: Source, decimal: str = "", *, spaced: bool = False, look: int = LOOK) -> Mended | None:
    """A file with its numbers made plain, or None where there is nothing of the kind in it.

    With a person's word on the ``decimal`` mark the other mark stands between thousands; never
    where numbers below one are written with it. ``spaced``: a space parts the columns, and no thousands.
    Only the first bytes, as many as ``look``, tell how the numbers are written.
    """
    if source.size > LARGEST:
        return None
    top = source.decode(source.part(0, look)).replace("\r", "")
    sure = _SURE.get(decimal, ())
    able = [way for way in _WAYS if not (spaced and way is _GROUPED_BY_SPACES)]
    ways = [(way, found) for way in able if (found := _proof(way, top, sure=way in sure)) is not None]
    clock = _clock(top)
    if not ways and clock is None:
        return None
    text = source.decode(source.part(0, source.size)).replace("\r\n", "\n").replace("\r", "\n")
    notes = []
    for way, found in ways:
        text = way.cell.sub(way.plain, text)
        notes.append(way.said.format(found))
    if any(way is _QUOTED_COMMA for way, _ in ways):
        decimal = ""
    if clock is not None:
        text, said = _seconds(text, clock, decimal)
        notes.append(said)
    data = text.encode()
    return Mended(
        source=replace(source, begin=0, size=len(data), text=data),
        notes=tuple(notes), decimal=decimal, clock=clock,
    )  # fmt: skip


def _proof(way: _Way, look: str, *, sure: bool) -> str | None:
    if not way.sign.search(look):
        return None
    found = [m.group(1) for m in (way.cell if sure else way.proof).finditer(look)]
    gainsaid = len(found) > 2 and way.against is not None and len(way.against.findall(look)) > 2
    return found[0] if len(found) > 2 and not gainsaid else None


def _clock(look: str) -> Clock | None:
    """The cells that hold a time of day, with or without a date, if many lines have one."""
    if not re.search(r"\d:\d\d:\d", look):
        return None
    for cell, stop, marks in (
        (_CELL, _STOP, ";\t"),
        (_COMMA_CELL, _COMMA_STOP, ","),
        (r"(?:(?<=[ \t])|(?<=^))", r"(?=$|[ \t])", " "),
    ):
        body = f"{cell}(?:{_DATE}[T ][ ]*)?{_CLOCK}Z?{_NO_HALF_DAY}{stop}"
        found = Clock(cell=re.compile(body, re.MULTILINE), marks=marks)
        if len(found.cell.findall(look)) > 2:
            return found
    return None


def _seconds(text: str, clock: Clock, decimal: str) -> tuple[str, str]:
    """A text whose times are seconds since midnight of the first day, column by column; a clock that
    falls back starts a new day."""
    example = ""
    known: dict[int, _Days] = {}
    look = text[:LOOK]
    commas = len(_COMMA_NUMBER.findall(look)) > len(_POINT_NUMBER.findall(look))
    mark = decimal or ("," if commas else ".")

    def plain(match: re.Match[str]) -> str:
        nonlocal example
        year, month, day, day2, month2, year2, hours, minutes, seconds = match.groups()
        value = 3600.0 * int(hours) + 60.0 * int(minutes) + float(seconds.replace(",", "."))
        example = match.group().strip(' "')
        line = text.rfind("\n", 0, match.start()) + 1
        so_far = known.setdefault(clock.column(text[line : match.start()]), _Days())
        if year or year2:
            try:
                at = date(int(year or year2), int(month or month2), int(day or day2)).toordinal()
            except ValueError:
                return match.group()
            so_far.first = at if so_far.first is None else so_far.first
            return repr(round(value + _DAY * (at - so_far.first), 6)).replace(".", mark)
        if value + _DAY * so_far.days < so_far.before - 0.5 * _DAY:
            so_far.days += 1
        so_far.before = value + _DAY * so_far.days
        return repr(round(so_far.before, 6)).replace(".", mark)

    changed = clock.cell.sub(plain, text)
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
