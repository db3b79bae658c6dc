"""Sentences about names: the nearest known one, and short lists."""

from __future__ import annotations

import difflib
from collections.abc import Iterable


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
