"""Making one change of a file after others changed the same file.

To take a step back, ``base`` is what the step left, ``target`` what it found; ``now`` is what others made
of it since. Only what the step itself touched goes back; where others touched the same thing, nothing
does, and the refusal says what.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from difflib import SequenceMatcher
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from halfcell.errors import StudyError
from halfcell.study.changes import decision_words, leaves, place_words, shown
from halfcell.study.draft import ADJUSTMENTS, RUNS, STUDY
from halfcell.study.model import Run
from halfcell.study.table import decode, encoded, read_table

Edit = tuple[int, int, tuple[str, ...]]
"""Lines from, to (of the base), and the lines that stand in their place."""

_ONE = {"baseline window", "peak window", "use cycle", "scale bar"}
"""Kinds of decision of which a file has one at most."""


class MovedOnError(StudyError):
    """Others changed the same thing since; nothing was written."""


def merged(name: str, base: bytes | None, target: bytes | None, now: bytes | None) -> bytes | None:
    """The bytes of file ``name`` with the change from ``base`` to ``target`` made on ``now``.

    Raises MovedOnError, with words, where that cannot be done without touching what others did.
    """
    if now == base:
        return target
    if now == target:
        return now
    if name == ADJUSTMENTS:
        return _decisions(base, target, now)
    if base is None or target is None or now is None:
        raise MovedOnError(f"{name} was made or removed by someone else meanwhile; it is left as it is.")
    if name == STUDY:
        _same_places(base, target, now)
    text, encoding = decode(now)
    lines = _three(_lines(decode(base)[0]), _lines(decode(target)[0]), _lines(text))
    if lines is None:
        raise MovedOnError(f"{name}: others changed the same lines meanwhile; they are left as they are.")
    new = "".join(lines)
    if (name == STUDY and not _just_that(base, target, now, new)) or (name == RUNS and not _readable(new)):
        raise MovedOnError(f"{name} was changed too much meanwhile; it is left as it is.")
    return encoded(new, encoding)


def _lines(text: str) -> list[str]:
    return text.splitlines(keepends=True)


def _three(base: list[str], target: list[str], now: list[str]) -> list[str] | None:
    mine, theirs = list(_edits(base, target)), list(_edits(base, now))
    if any(_clash(a, b) for a in mine for b in theirs if a != b):
        return None
    out, at = [], 0
    for start, end, lines in sorted({*mine, *theirs}, key=lambda edit: edit[:2]):
        out += [*base[at:start], *lines]
        at = end
    return out + base[at:]


def _edits(base: list[str], other: list[str]) -> Iterator[Edit]:
    for tag, i1, i2, j1, j2 in SequenceMatcher(None, base, other, autojunk=False).get_opcodes():
        if tag == "replace" and i2 - i1 == j2 - j1:
            yield from ((i1 + k, i1 + k + 1, (other[j1 + k],)) for k in range(i2 - i1))
        elif tag != "equal":
            yield i1, i2, tuple(other[j1:j2])


def _clash(a: Edit, b: Edit) -> bool:
    if a[0] == a[1] or b[0] == b[1]:  # lines put in: not where others put in, replaced or took out
        return a[0] <= b[1] and b[0] <= a[1]
    return a[0] < b[1] and b[0] < a[1]


def _same_places(base: bytes, target: bytes, now: bytes) -> None:
    """Raise where another gave a different value to a key that the change touched."""
    before, after, there = _toml(base), _toml(target), _toml(now)
    if before is None or after is None:
        return
    if there is None:
        raise StudyError(f"{STUDY} cannot be read as it is now; mend its mistakes first.")
    a, b, c = leaves(before), leaves(after), leaves(there)
    for place in [p for p in {**a, **b} if a.get(p) != b.get(p)]:
        if c.get(place) not in (a.get(place), b.get(place)):
            what = place_words(place, there)
            raise MovedOnError(
                f"{what[:1].upper()}{what[1:]} is {shown(c.get(place))} now, no longer {shown(a.get(place))}: "
                "it was changed by another window or by hand, and is left so."
            )


def _just_that(base: bytes, target: bytes, now: bytes, new: str) -> bool:
    """Whether the merged text differs from ``now`` by the change and nothing else."""
    docs = [_toml(data) for data in (base, target, now)]
    found = _toml(new.encode())
    if found is None or any(d is None for d in docs):
        return False
    a, b, wanted = (leaves(d or {}) for d in docs)
    for place in {**a, **b}:
        if a.get(place) == b.get(place):
            continue
        wanted.pop(place, None)
        if place in b:
            wanted[place] = b[place]
    return leaves(found) == wanted


def _toml(data: bytes) -> dict[str, Any] | None:
    try:
        return tomllib.loads(data.decode("utf-8-sig"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError):
        return None


def _readable(text: str) -> bool:
    try:
        return bool(read_table(text.encode(), Run.model_fields).columns)
    except StudyError:
        return False


def _decisions(base: bytes | None, target: bytes | None, now: bytes | None) -> bytes:
    """Decision by decision: those the change put in or took out, and no other."""
    old, new = (_entries(data) for data in (base, target))
    going, coming = _without(old, new), _without(new, old)
    try:
        document: Any = tomlkit.parse((now or b"format = 1\n").decode("utf-8-sig"))
    except (TOMLKitError, UnicodeDecodeError, ValueError):
        raise StudyError(f"{ADJUSTMENTS} cannot be read as it is now; mend its mistakes first.") from None
    if "adjustment" not in document:
        document["adjustment"] = tomlkit.aot()
    entries = document["adjustment"]
    place = len(entries)
    for one in going:
        found = next((i for i in reversed(range(len(entries))) if entries[i].unwrap() == one), None)
        if found is None:
            raise MovedOnError(
                f"“{decision_words(one)}” was changed or taken out by someone else meanwhile; it is left so."
            )
        del entries[found]
        place = found
    for i, one in enumerate(coming):
        _no_other(one, entries)
        table = tomlkit.table()
        table.update(one)
        table.add(tomlkit.nl())
        entries.insert(place + i, table)
    if not entries:
        del document["adjustment"]
    return tomlkit.dumps(document).encode()


def _entries(data: bytes | None) -> list[dict[str, Any]]:
    found = (_toml(data) or {}) if data else {}
    return [dict(one) for one in found.get("adjustment", [])]


def _without(these: list[dict[str, Any]], those: list[dict[str, Any]]) -> list[dict[str, Any]]:
    left, out = list(those), []
    for one in these:
        if one in left:
            left.remove(one)
        else:
            out.append(one)
    return out


def _no_other(one: Mapping[str, Any], entries: Any) -> None:
    for other in entries:
        alike = other.get("kind") == one.get("kind") and other.get("file") == one.get("file")
        if alike and (one.get("kind") in _ONE or other.unwrap() == one):
            raise MovedOnError(
                f"“{decision_words(other)}” was decided anew by someone else meanwhile; it is left so."
            )
