"""What is said when a file cannot be read by itself: why, its first lines, and what to write."""

from __future__ import annotations

import json
import re
from glob import escape
from pathlib import PurePosixPath
from typing import NoReturn

from halfcell.errors import Problem, ReadError
from halfcell.readers.source import Source

_SHOWN = 8


def first_lines(source: Source, count: int, start: int = 0) -> tuple[tuple[int, str], ...]:
    """(number from 1, text) of some lines, each at most 200 characters."""
    text = source.decode(source.part(0, 1 << 18 if start == 0 else min(source.size, 1 << 24)))
    lines = text.splitlines()[start : start + count]
    return tuple((start + i + 1, line[:200]) for i, line in enumerate(lines))


def key_of(name: str) -> str:
    """A name for a [readers.NAME] table made from a file's name."""
    stem = PurePosixPath(name.replace("\\", "/")).stem
    return re.sub(r"[^A-Za-z0-9_-]+", "_", stem).strip("_")[:30] or "mine"


def example(name: str, lines: dict[str, str]) -> str:
    """The piece of study.toml that tells how to read a file."""
    file = PurePosixPath(name.replace("\\", "/")).name
    return "\n".join(
        [
            f"[readers.{key_of(name)}]",
            f"files = {json.dumps(escape(file), ensure_ascii=False)}",
            *(f"{key} = {value}" for key, value in lines.items()),
        ]
    )


def refuse(source: Source, why: str, lines: dict[str, str], *, around: int = 0) -> NoReturn:
    """Raises ReadError with the reason, the lines a person must look at and the keys to add."""
    start = max(0, around - 4)
    shown = "\n".join(
        f"{number:>6}  {text}" for number, text in first_lines(source, _SHOWN, start if start < 5000 else 0)
    )
    toml = example(source.name, lines)
    what = f"{source.name}: {why}\nThe lines in question:\n{shown}\nAdd to study.toml, with the right values:\n\n{toml}"
    raise ReadError(what, problems=(Problem(file=source.name, what=why, example=toml, lines=shown),))


ALL_KEYS = {
    "columns": "{ potential = 1, current = 2 }",
    "units": '{ potential = "V", current = "uA" }',
    "delimiter": '","',
    "decimal": '"."',
    "skip": "12",
}
