"""Writing a person's decisions to adjustments.toml, one at a time or several in one step.

Every change is made under a lock, from the file as it stands, checked against the model, and
put in place in one step; comments in the file stay.
"""

from __future__ import annotations

import datetime as dt
import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import tomlkit
from pydantic import ValidationError
from tomlkit.exceptions import TOMLKitError

from halfcell.errors import StudyError
from halfcell.study.adjustments import Adjustment, AdjustmentsFile
from halfcell.study.atomic import hash_of, write_atomically
from halfcell.study.draft import ADJUSTMENTS
from halfcell.study.lock import locked
from halfcell.study.toml import read_toml
from halfcell.study.translate import problems_of

_HEAD = "# What a person decided by hand; the analysis replays it in this order.\nformat = 1\n\n"


@dataclass(frozen=True, slots=True, kw_only=True)
class Decisions:
    """The decisions as they stand, with the hash of the file they were read from."""

    decisions: tuple[Adjustment, ...]
    hash: str


def read_decisions(folder: str | Path) -> Decisions:
    """The decisions of a study. Raises StudyError for a file with mistakes."""
    text, found = _read(Path(folder) / ADJUSTMENTS)
    return Decisions(decisions=_checked(text), hash=found)


def append(folder: str | Path, decision: Mapping[str, Any], *, expected: str | None = None) -> Decisions:
    """Add a decision at the end, given as its keys ("kind", "file", … with quantities as text).

    ``when`` is filled in where it is lacking. ``expected`` is the hash of the ``Decisions`` the
    person saw; None adds to whatever stands there. Raises StudyError when the decision is not
    right or, with ``expected``, when the file was changed meanwhile.
    """
    return _change(folder, lambda entries: entries.append(_table(decision)), expected)


def change(
    folder: str | Path,
    *,
    add: Sequence[Mapping[str, Any]],
    without: Sequence[Mapping[str, Any]] = (),
    expected: str | None = None,
) -> Decisions:
    """Add several decisions and take out earlier ones, in one step.

    ``without`` holds for each kind of decision to take out the keys and values it must have, as
    they stand in the file ({"kind": "baseline window", "file": "data/a.csv"}). Raises StudyError
    as ``append``; the file is then as it was.
    """

    def apply(entries: Any) -> None:
        for i in reversed(range(len(entries))):
            if any(all(entries[i].get(k) == v for k, v in mark.items()) for mark in without):
                del entries[i]
        for decision in add:
            entries.append(_table(decision))

    return _change(folder, apply, expected)


def replace(
    folder: str | Path, position: int, decision: Mapping[str, Any], *, expected: str | None
) -> Decisions:
    """Put a decision in the place of the one at ``position`` (from 0). Raises StudyError as ``append``."""

    def change(entries: Any) -> None:
        _there(entries, position)
        entries[position] = _table(decision)

    return _change(folder, change, expected)


def remove(folder: str | Path, position: int, *, expected: str | None) -> Decisions:
    """Take the decision at ``position`` (from 0) out. Raises StudyError as ``append``."""

    def change(entries: Any) -> None:
        _there(entries, position)
        del entries[position]

    return _change(folder, change, expected)


def _change(folder: str | Path, change: Callable[[Any], None], expected: str | None) -> Decisions:
    path = Path(folder) / ADJUSTMENTS
    with locked(path):
        text, found = _read(path)
        if expected is not None and expected != found:
            raise StudyError(
                f"{ADJUSTMENTS} was changed by someone else meanwhile; look at it again and repeat the change."
            )
        try:
            document: Any = tomlkit.parse(text)
        except TOMLKitError as error:
            raise StudyError(
                f"{ADJUSTMENTS} cannot be changed before its mistakes are mended ({error})."
            ) from None
        if "adjustment" not in document:
            document["adjustment"] = tomlkit.aot()
        change(document["adjustment"])
        if not document["adjustment"]:
            del document["adjustment"]
        new = tomlkit.dumps(document)
        decisions = _checked(new)
        return Decisions(decisions=decisions, hash=write_atomically(path, new.encode(), expected=found))


def _read(path: Path) -> tuple[str, str]:
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        return _HEAD, ""
    except OSError as error:
        raise StudyError(f"{ADJUSTMENTS} cannot be read ({error.strerror}).") from None
    try:
        return data.decode("utf-8-sig"), hash_of(data)
    except UnicodeDecodeError:
        raise StudyError(f"{ADJUSTMENTS} is not written in UTF-8; save it as UTF-8.") from None


def _checked(text: str) -> tuple[Adjustment, ...]:
    try:
        return tuple(AdjustmentsFile.model_validate(tomllib.loads(text)).adjustment)
    except tomllib.TOMLDecodeError as error:
        raise StudyError(f"{ADJUSTMENTS} is not TOML ({error}).") from None
    except ValidationError as error:
        place = read_toml(text, ADJUSTMENTS).place
        problems = tuple(problems_of(error, AdjustmentsFile, file=ADJUSTMENTS, place=place))
        raise StudyError("\n".join(str(p) for p in problems), problems=problems) from None


def _there(entries: Any, position: int) -> None:
    if not 0 <= position < len(entries):
        raise StudyError(f"There is no decision {position + 1}; there are {len(entries)}.")


def _table(decision: Mapping[str, Any]) -> Any:
    table = tomlkit.table()
    table.update({key: value for key, value in decision.items() if value not in (None, "")})
    if not decision.get("when"):
        table["when"] = dt.datetime.now().astimezone().isoformat(timespec="minutes")
    table.add(tomlkit.nl())
    return table
