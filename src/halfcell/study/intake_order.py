"""The order in which records were taken, from the time in their headers, else from the numbers in their names.

The times of the files themselves are not looked at: copying and downloading change them.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_DATE = re.compile(
    r"(?<!\d)(?:(?P<y>(?:19|20)\d\d)[-/.](?P<m>\d\d?)[-/.](?P<d>\d\d?)"
    r"|(?P<a>\d\d?)[-/.](?P<b>\d\d?)[-/.](?P<z>(?:19|20)\d\d)"
    r"|(?P<e>\d\d?)[-\s.]+(?P<n>[A-Za-z]{3})[a-z]*[-\s.,]+(?P<x>(?:19|20)\d\d)"
    r"|(?P<p>[A-Za-z]{3})[a-z]*\.?\s+(?P<q>\d\d?),?\s+(?P<r>(?:19|20)\d\d))(?!\d)"
)
_TIME = re.compile(
    r"(?<![\d:])(\d\d?):(\d\d)(?::(\d\d)(?:[.,](\d{1,6}))?)?(?:\s*([AaPp])\.?[Mm]\.?)?(?![\d:])"
)
_NEAR = 200
"""Letters behind a date in which its time is looked for (it may stand in the next line)."""


@dataclass(frozen=True, slots=True)
class Stamp:
    """A time found in a header; of "03/04/2025" it is not known which number is the day."""

    day_first: datetime | None
    month_first: datetime | None


def stamp(header: str) -> Stamp | None:
    """The first date with a time in a header, or None."""
    for date in _DATE.finditer(header):
        behind = header[date.end() : date.end() + _NEAR]
        time = _TIME.search(behind)
        if time is None:
            before = list(_TIME.finditer(header[max(0, date.start() - 40) : date.start()]))
            time = before[-1] if before else None
        if time is None:
            continue
        hour = int(time.group(1))
        if time.group(5):
            hour = hour % 12 + (12 if time.group(5).lower() == "p" else 0)
        clock = (hour, int(time.group(2)), int(time.group(3) or 0), int((time.group(4) or "0").ljust(6, "0")))
        found = [_moment(day, clock) for day in _days(date)]
        if any(found):
            return Stamp(found[0], found[-1])
    return None


def by_stamps(headers: Sequence[str]) -> tuple[int, ...]:
    """Places from 1 by the times in the headers; empty where a header has none or two have the same.

    Where day and month could be exchanged, both ways must give the same order, unless one way is no date.
    """
    found = [stamp(header) for header in headers]
    ways = []
    for way in ("day_first", "month_first"):
        times = [getattr(one, way) if one is not None else None for one in found]
        known = [t for t in times if t is not None]
        if len(known) == len(headers) and len(set(known)) == len(known):
            ranks = {t: n for n, t in enumerate(sorted(known), 1)}
            ways.append(tuple(ranks[t] for t in known))
    return ways[0] if ways and len(set(ways)) == 1 else ()


def by_numbers(counters: Iterable[str]) -> tuple[int, ...]:
    """The numbers of parts such as "run3"; empty where one has none or two have the same."""
    digits = [re.search(r"\d+", text) for text in counters]
    found = tuple(int(d.group()) for d in digits if d is not None)
    return found if len(found) == len(digits) and len(set(found)) == len(found) else ()


def _days(date: re.Match[str]) -> list[tuple[int, int, int]]:
    """(year, month, day) as the date may be meant: one, or two where day and month could be exchanged."""
    parts: Mapping[str, str | None] = date.groupdict()
    if parts["y"]:
        return [(int(parts["y"]), int(parts["m"] or 0), int(parts["d"] or 0))]
    if parts["z"]:
        a, b, year = int(parts["a"] or 0), int(parts["b"] or 0), int(parts["z"])
        return [(year, b, a), (year, a, b)]
    name = (parts["n"] or parts["p"] or "").lower()
    if name not in _MONTHS:
        return []
    return [(int(parts["x"] or parts["r"] or 0), _MONTHS.index(name) + 1, int(parts["e"] or parts["q"] or 0))]


def _moment(day: tuple[int, int, int], clock: tuple[int, int, int, int]) -> datetime | None:
    try:
        return datetime(*day, *clock)
    except ValueError:
        return None
