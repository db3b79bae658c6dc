"""[readers] tables for the exports that cannot be understood by themselves, with "?" to fill in."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterable, Sequence
from fnmatch import fnmatchcase
from pathlib import PurePosixPath
from typing import TYPE_CHECKING

from halfcell.study.edit_readers import patterns
from halfcell.study.translate import BLANK

if TYPE_CHECKING:
    from halfcell.study.intake import Taken

_SHOWN = 4


def reader_tables(
    taken: Sequence[Taken], others: Iterable[str] = (), names: Iterable[str] = ()
) -> tuple[list[str], list[str]]:
    """Lines of study.toml and questions: one table for each family of files that cannot be read.

    ``others`` are the recordings that a study has already, which no table may speak of, ``names``
    those of its tables.
    """
    before = [PurePosixPath(file).name for file in others]
    recordings = [t for t in taken if t.kind == "recording"]
    families: dict[tuple[str, str, int], list[Taken]] = {}
    for t in recordings:
        if t.problem:
            columns = len(t.preview.columns) if t.preview is not None else 0
            families.setdefault((PurePosixPath(t.file).suffix, t.parts.technique, columns), []).append(t)
    lines: list[str] = []
    questions: list[str] = []
    used = set(names)
    for (_, technique, _), members in families.items():
        own = [PurePosixPath(t.file).name for t in members]
        rest = [PurePosixPath(t.file).name for t in recordings if t not in members]
        for pattern in patterns(own, [*rest, *before]):
            first = next(t for t, name in zip(members, own, strict=True) if fnmatchcase(name, pattern))
            key = _free(f"{first.parts.electrode.split('-')[0]} {technique or 'exports'}", used)
            lines += _table(key, pattern, first, technique)
            units = _only_units(first)
            what = (
                f"in which unit is the {' and the '.join(units)}"
                if units
                else "what are the columns and their units"
            )
            questions.append(f"study.toml, readers.{key}: {what} in {pattern}?")
    return lines, questions


def _free(words: str, used: set[str]) -> str:
    """A name for a table, made from words, that no other has; it is then used."""
    base = re.sub(r"[^A-Za-z0-9]+", "-", words).strip("-").lower()
    key = next(k for k in (base, *(f"{base}-{n}" for n in range(2, len(used) + 3))) if k not in used)
    used.add(key)
    return key


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
