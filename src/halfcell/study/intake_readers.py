"""[readers] tables for the exports that cannot be understood by themselves, with "?" to fill in."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Sequence
from fnmatch import fnmatch
from glob import escape
from pathlib import PurePosixPath
from typing import TYPE_CHECKING

from halfcell.study.translate import BLANK

if TYPE_CHECKING:
    from halfcell.study.intake import Taken

_SHOWN = 4


def reader_tables(taken: Sequence[Taken]) -> tuple[list[str], list[str]]:
    """Lines of study.toml and questions: one table for each family of files that cannot be read."""
    recordings = [t for t in taken if t.kind == "recording"]
    families: dict[tuple[str, str, int], list[Taken]] = {}
    for t in recordings:
        if t.problem:
            columns = len(t.preview.columns) if t.preview is not None else 0
            families.setdefault((PurePosixPath(t.file).suffix, t.parts.technique, columns), []).append(t)
    lines: list[str] = []
    questions: list[str] = []
    used: set[str] = set()
    for (_, technique, _), members in families.items():
        pattern = pattern_for(members, recordings)
        key = base = (
            re.sub(
                r"[^A-Za-z0-9]+", "-", f"{members[0].parts.electrode.split('-')[0]} {technique or 'exports'}"
            )
            .strip("-")
            .lower()
        )
        for number in range(2, len(families) + 2):
            if key not in used:
                break
            key = f"{base}-{number}"
        used.add(key)
        lines += _table(key, pattern, members[0], technique)
        units = _only_units(members[0])
        what = (
            f"in which unit is the {' and the '.join(units)}"
            if units
            else "what are the columns and their units"
        )
        questions.append(f"study.toml, readers.{key}: {what} in {pattern}?")
    return lines, questions


def pattern_for(members: Sequence[Taken], everything: Sequence[Taken]) -> str:
    """A pattern that matches the names of ``members`` and of no other file, as far as there is one."""
    names = [PurePosixPath(t.file).name for t in members]
    others = [PurePosixPath(t.file).name for t in everything if t not in members]
    if len(names) == 1:
        return escape(names[0])
    start = _common(names)
    end = _common([n[len(start) :][::-1] for n in names])[::-1]
    inner = [n[len(start) : len(n) - len(end)] for n in names]
    tried = [f"{escape(start)}*{escape(end)}"]
    words = sorted({w for w in re.split(r"[_\-\s.\d]+", inner[0] + end) if len(w) > 1}, key=len, reverse=True)
    suffix = PurePosixPath(names[0]).suffix
    tried += [f"{escape(start)}*{w}*{suffix}" for w in words if all(w in n[len(start) :] for n in names)]
    for pattern in tried:
        if all(fnmatch(n, pattern) for n in names) and not any(fnmatch(n, pattern) for n in others):
            return pattern
    return tried[0]


def _common(names: Sequence[str]) -> str:
    """The first letters that all names share."""
    least, most = min(names), max(names)
    length = next(
        (i for i, (a, b) in enumerate(zip(least, most, strict=False)) if a != b), min(len(least), len(most))
    )
    return least[:length]


def _table(key: str, pattern: str, member: Taken, technique: str) -> list[str]:
    shown = member.preview
    roles = (
        ("potential", "current")
        if technique in {"cyclic voltammogram", "linear sweep", "differential pulse", "square wave", ""}
        else ("time", "current")
    )
    lines = [
        "",
        f"# These files cannot be understood by themselves. {PurePosixPath(member.file).name} begins:",
    ]
    lines += [
        f"#   {number:>4}  {_harmless(text)}" for number, text in (shown.lines[:_SHOWN] if shown else ())
    ]
    lines += [f"[readers.{key}]", f"files = {_text(pattern)}"]
    if units := _only_units(member):
        blanks = ", ".join(f'{role} = "{BLANK}"' for role in units)
        return [*lines, f'units = {{ {blanks} }}  # such as "mV" or "uA"']
    columns = ", ".join(f'{role} = "{BLANK}"' for role in roles)
    lines.append(f"columns = {{ {columns} }}  # the number of the column, from 1, or its heading")
    lines.append(f'units = {{ {columns} }}  # such as "mV" and "uA"')
    if shown is not None:
        lines += [
            f"{name} = {_text(value)}"
            for name, value in (("delimiter", shown.delimiter), ("decimal", shown.decimal))
            if value
        ]
        if shown.first_row:
            lines.append(f"skip = {shown.first_row - 1}")
    return lines


def _only_units(member: Taken) -> tuple[str, ...]:
    """The roles whose unit is all that is missing; empty where more is."""
    try:
        (table,) = tomllib.loads(member.preview.example if member.preview else "")["readers"].values()
    except (tomllib.TOMLDecodeError, KeyError, ValueError):
        return ()
    return tuple(table["units"]) if set(table) == {"files", "units"} else ()


def _text(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


def _harmless(text: str) -> str:
    """A line of a file as a comment: no characters that end a comment or confuse a terminal."""
    return "".join(c if c.isprintable() else " " for c in text)[:100]
