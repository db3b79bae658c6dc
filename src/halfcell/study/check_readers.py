"""Checks of [readers]: patterns that match something, roles and units that exist."""

from __future__ import annotations

from collections.abc import Iterator
from fnmatch import fnmatchcase
from pathlib import PurePosixPath
from typing import Any

from halfcell.errors import Problem
from halfcell.study.check_names import tables
from halfcell.study.draft import STUDY, Draft
from halfcell.study.translate import BLANK
from halfcell.study.words import listed, meant
from halfcell.units import is_unit

_ROLES = {"time": "s", "potential": "V", "current": "A", "cycle": "1", "forward": "A", "backward": "A"}
_WORDS = {"delimiter": (",", ";", "|", "tab", "space"), "decimal": (".", ",")}


def check_readers(draft: Draft) -> Iterator[Problem]:
    """Every problem of [readers]."""
    names = [PurePosixPath(row.cells.get("file", "")).name for row in draft.rows]
    for name, table in tables(draft, "readers"):
        at = f"readers.{name}"
        pattern = table.get("files", "*")
        if names and isinstance(pattern, str) and not any(fnmatchcase(n, pattern) for n in names):
            what = f"no file of runs.csv is matched by {pattern!r}."
            yield _wrong(draft, f"{at}.files", what, 'files = "ni_*.txt"', severity="warning")
        yield from _columns(draft, table, at)
        for key, allowed in _WORDS.items():
            value = table.get(key, "")
            if isinstance(value, str) and value and value not in allowed:
                what = f"{value!r} is not known here; known: {listed(repr(a) for a in allowed)}."
                yield _wrong(draft, f"{at}.{key}", what, f'{key} = "{allowed[0]}"')


def _columns(draft: Draft, table: dict[str, Any], at: str) -> Iterator[Problem]:
    examples = {"columns": "columns = { potential = 1, current = 2 }", "units": 'units = { current = "uA" }'}
    for part, example in examples.items():
        inner = table.get(part)
        for role, value in inner.items() if isinstance(inner, dict) else ():
            key = f"{at}.{part}.{role}"
            if role not in _ROLES:
                what = f"{role!r} is no role of a column; {meant(role, _ROLES)}"
                yield _wrong(draft, key, what, example)
            elif part == "units" and isinstance(value, str) and value != BLANK and not _fits(value, role):
                yield _wrong(draft, key, f"{value!r} is no unit of a {role}.", f'{role} = "{_ROLES[role]}"')


def _wrong(draft: Draft, key: str, what: str, example: str, severity: str = "error") -> Problem:
    return Problem(file=STUDY, place=draft.toml.place(key), what=what, example=example, severity=severity)


def _fits(unit: str, role: str) -> bool:
    kinds = (_ROLES[role], "A/m^2") if _ROLES[role] == "A" else (_ROLES[role],)
    return any(is_unit(unit, kind) for kind in kinds)
