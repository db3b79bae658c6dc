"""Writing down how files are read: one [readers.NAME] for a file and its siblings."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from fnmatch import fnmatchcase
from glob import escape
from pathlib import Path, PurePosixPath
from typing import Any

from halfcell.errors import StudyError
from halfcell.study.edit import StudyEdit
from halfcell.study.translate import BLANK

KEYS = ("columns", "units", "delimiter", "decimal", "skip", "encoding", "reader")


def in_force(edit: StudyEdit, file: str) -> tuple[str, dict[str, Any]]:
    """Name and settings of the [readers] table that a file is read by; "?" is left out. Both empty where there is none."""
    name = PurePosixPath(file).name
    for key, table in _tables(edit).items():
        if fnmatchcase(name, str(table.get("files", "*"))):
            return key, _answered(table)
    return "", {}


def keep_reading(
    folder: str | Path, files: Sequence[str], everything: Iterable[str], hints: Mapping[str, Any]
) -> tuple[str, ...]:
    """Write into study.toml how ``files`` are read, and give the patterns they are named by.

    ``everything`` are the paths of all recordings: no other of them is matched. A table that spoke of
    ``files`` alone is replaced; one that speaks of others as well stays, behind the new ones (the
    first that fits a name counts). Empty ``hints`` take the tables of ``files`` away.
    Raises StudyError where two folders hold files of one name and only one of them is meant.
    """
    names = [PurePosixPath(f).name for f in files]
    others = [PurePosixPath(f).name for f in everything if f not in files]
    twice = next((n for n in names if n in others), None)
    if twice is not None:
        raise StudyError(
            f"Two folders hold a file {twice!r}; a pattern goes by the name alone. Correct both, or rename one of them."
        )
    edit = StudyEdit(folder)
    staying = _take_out(edit, names, others)
    found = patterns(names, others) if hints else ()
    for pattern in found:
        edit.add_reader(_free(edit, pattern), {"files": pattern} | {k: hints[k] for k in KEYS if k in hints})
    for key, table in staying:
        edit.remove(("readers", key))
        edit.add_reader(key, table)
    edit.save(unfinished=True)
    return found


def patterns(names: Sequence[str], others: Sequence[str]) -> tuple[str, ...]:
    """As few patterns as are found that match all ``names`` and none of ``others``."""
    left, made = list(dict.fromkeys(names)), []
    stars = [*(starred(name) for name in left), _everything_alike(left)]
    clean = [p for p in dict.fromkeys(stars) if p and not any(fnmatchcase(o, p) for o in others)]
    while left:
        best = max(clean, key=lambda p: sum(fnmatchcase(n, p) for n in left), default="")
        if not best or not any(fnmatchcase(n, best) for n in left):
            made += [escape(n) for n in left]
            break
        made.append(best)
        left = [n for n in left if not fnmatchcase(n, best)]
    return tuple(made)


def starred(name: str) -> str:
    """A pattern that takes in files named alike: every number becomes a star."""
    stem, dot, ending = re.sub(r"[\[\]?*]", "?", name).rpartition(".")
    plain = re.sub(r"\d+(?:[.,]\d+)?", "*", stem or ending)
    return f"{plain}.{ending}" if dot and stem else plain


def _everything_alike(names: Sequence[str]) -> str:
    """What all names begin with and end with, and a star between."""
    if len(names) < 2:
        return ""
    start = _common(names)
    end = _common([n[len(start) :][::-1] for n in names])[::-1]
    return f"{escape(start)}*{escape(end)}" if start or end else ""


def _common(names: Sequence[str]) -> str:
    least, most = min(names), max(names)
    same = (i for i, (a, b) in enumerate(zip(least, most, strict=False)) if a != b)
    return least[: next(same, min(len(least), len(most)))]


def _take_out(
    edit: StudyEdit, names: Sequence[str], others: Sequence[str]
) -> list[tuple[str, dict[str, Any]]]:
    """Remove tables that speak of ``names`` alone; give those that speak of others as well."""
    staying = []
    for key, table in _tables(edit).items():
        pattern = str(table.get("files", "*"))
        if not any(fnmatchcase(n, pattern) for n in names):
            continue
        if any(fnmatchcase(o, pattern) for o in others):
            staying.append((key, table))
        else:
            edit.remove(("readers", key))
    return staying


def _tables(edit: StudyEdit) -> dict[str, dict[str, Any]]:
    tables = edit.get("readers")
    return {k: t for k, t in tables.items() if isinstance(t, dict)} if isinstance(tables, dict) else {}


def _answered(table: Mapping[str, Any]) -> dict[str, Any]:
    hints = {k: table[k] for k in KEYS if k in table and table[k] != BLANK}
    for key in ("columns", "units"):
        inner = hints.get(key)
        if isinstance(inner, dict):
            hints[key] = {role: v for role, v in inner.items() if v != BLANK}
    return hints


def _free(edit: StudyEdit, pattern: str) -> str:
    base = re.sub(r"[^A-Za-z0-9]+", "-", pattern.rpartition(".")[0] or pattern).strip("-").lower() or "files"
    name, number = base, 2
    while edit.get(("readers", name)) is not None:
        name, number = f"{base}-{number}", number + 1
    return name
