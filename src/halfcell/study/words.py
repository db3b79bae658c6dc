"""Sentences about names: the nearest known one, and short lists."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Iterator
from typing import Any

CANNOT_BE_SHOWN = (
    "holds a control character, which cannot be shown and can hide what stands there; write it again."
)
_CONTROL = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ud800-\udfff]")
"""Control characters, marks that turn the direction of writing, and halves of characters."""


def printable(text: str) -> str:
    """A text with a mark in place of every control character."""
    return _CONTROL.sub("\ufffd", text)


def hidden(value: Any, at: str = "") -> Iterator[str]:
    """The dotted keys of a document whose name or text holds control characters."""
    if isinstance(value, dict):
        for key, inner in value.items():
            here = f"{at}.{key}" if at else str(key)
            if _CONTROL.search(str(key)):
                yield here
            yield from hidden(inner, here)
    elif isinstance(value, list):
        for i, inner in enumerate(value, 1):
            yield from hidden(inner, f"{at}.{i}")
    elif isinstance(value, str) and _CONTROL.search(value):
        yield at


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known name most like ``word`` (letter case aside), or None where none is near."""
    by_fold: dict[str, str] = {}
    for name in known:
        by_fold.setdefault(_fold(name), name)
    found = difflib.get_close_matches(_fold(word), by_fold, n=1, cutoff=0.6)
    return by_fold[found[0]] if found else None


def _fold(name: str) -> str:
    return name.casefold().replace("-", "_").replace(" ", "_")


def meant(word: str, known: Iterable[str]) -> str:
    """A half-sentence for an unknown name: the nearest known one, else the known ones."""
    names = list(known)
    near = nearest(word, names)
    if near is not None:
        return f"did you mean {near!r}?"
    return f"known: {listed(names)}." if names else "none is known yet."


def listed(names: Iterable[str], most: int = 12) -> str:
    """Names in a row, cut when there are many."""
    words = list(names)
    tail = f" and {len(words) - most} more" if len(words) > most else ""
    return ", ".join(words[:most]) + tail


def count(number: int, what: str) -> str:
    """ "1 problem", "2 problems"."""
    return f"{number} {what}" if number == 1 else f"{number} {what}s"
