"""Further tables in the text of study.toml, without a change to any other letter of it."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from halfcell.errors import StudyError

_HEADER = re.compile(r"^\s*\[\[?\s*(?:\"([^\"]*)\"|'([^']*)'|([A-Za-z0-9_-]+))[^\]]*\]\]?\s*(?:#.*)?$")
_LINE = re.compile(r"[^\r\n]*(?:\r\n|\n|\r)|[^\r\n]+\Z")
_BEHIND = "electrodes"
"""Tables of a kind that the file does not have yet stand behind these."""


def with_tables(text: str, kind: str, lines: Sequence[str], *, first: bool = False) -> str:
    """The text with the tables in ``lines``, all of them [kind.NAME], behind those of their kind (``first``: before them).

    Comments, order and spelling of everything else stay. Raises StudyError where that cannot be
    done (a file that writes all its tables of that kind in one line, say).
    """
    if not lines:
        return text
    own = [line for line in lines if line] if first else list(lines)
    wanted = joined(tomllib.loads(text), tomllib.loads("\n".join(lines) + "\n"))
    for made in _ways(text, kind, own, first=first):
        try:
            if tomllib.loads(made) == wanted:
                return made
        except tomllib.TOMLDecodeError:
            continue
    raise StudyError(
        f"study.toml holds its {kind} in a form to which nothing can be added; write each as a table of its own, [{kind}.NAME]."
    )


def joined(document: Mapping[str, Any], more: Mapping[str, Any]) -> dict[str, Any]:
    """A document with the tables of another; keys that both have stay as they are in the first."""
    out = dict(document)
    for key, value in more.items():
        if key not in out:
            out[key] = value
        elif isinstance(value, dict) and isinstance(out[key], dict):
            out[key] = joined(out[key], value)
    return out


def _ways(text: str, kind: str, lines: Sequence[str], *, first: bool) -> Iterator[str]:
    """The text with the lines put in where they belong; should that be no document, at the end, or within what is there."""
    rows = _LINE.findall(text)
    newline = "\r\n" if "\r\n" in text else "\n"
    heads = [
        (i, m.group(1) or m.group(2) or m.group(3)) for i, row in enumerate(rows) if (m := _HEADER.match(row))
    ]
    own = [i for i, name in heads if name == kind] or [i for i, name in heads if name == _BEHIND]
    if own and not (first and any(name == kind for _, name in heads)):
        behind = next((i for i, _ in heads if i > own[-1]), len(rows))
        yield _put(rows, _end(rows, own[-1], behind), lines, newline)
    elif own:
        yield _put(rows, _start(rows, own[0]), [*lines, ""], newline)
    yield _put(rows, len(rows), lines, newline)
    yield _within(text, lines)


def _put(rows: Sequence[str], at: int, lines: Sequence[str], newline: str) -> str:
    before = "".join(rows[:at])
    if before and not before.endswith(("\n", "\r")):
        before += newline
    return before + "".join(line + newline for line in lines) + "".join(rows[at:])


def _end(rows: Sequence[str], header: int, behind: int) -> int:
    """Where a table ends: behind its last key, and the comments that stand directly under it."""
    last = max(i for i in range(header, behind) if i == header or not _idle(rows[i]))
    end = last + 1
    while end < behind and rows[end].strip():
        end += 1
    # Comments without an empty line before the next table belong to that one.
    return last + 1 if end == behind < len(rows) else end


def _start(rows: Sequence[str], header: int) -> int:
    """Where a table begins: at the comments directly above it."""
    start = header
    while start > 0 and rows[start - 1].lstrip().startswith("#"):
        start -= 1
    return start


def _idle(row: str) -> bool:
    return not row.strip() or row.lstrip().startswith("#")


def _within(text: str, lines: Sequence[str]) -> str:
    """The tables written the way the file writes its own (dotted keys, one line), their comments lost."""
    try:
        document: Any = tomlkit.parse(text)
        for kind, tables in tomllib.loads("\n".join(lines) + "\n").items():
            for name, table in tables.items():
                if name in document[kind]:
                    document[kind][name].update(
                        {k: v for k, v in table.items() if k not in document[kind][name]}
                    )
                else:
                    inline = tomlkit.inline_table()
                    inline.update(table)
                    document[kind][name] = inline
        return tomlkit.dumps(document)
    except (TOMLKitError, KeyError, TypeError, AttributeError, ValueError):
        return ""
