"""Compact letters: groups that share a letter are not shown to differ.

Source: the insert-and-absorb method, Piepho 2004, J. Comput. Graph. Stat. 13:456 (from memory).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np


def letters(means: Sequence[float], different: Iterable[tuple[int, int]]) -> tuple[str, ...]:
    """A text of letters for each group; "a" goes to the one with the highest mean.

    ``different`` holds the pairs of positions that are claimed to differ. Two groups share a
    letter exactly when they are not in it.

    >>> letters([1.0, 2.0, 3.0], [(0, 2)])
    ('b', 'ab', 'a')
    """
    k = len(means)
    columns: list[frozenset[int]] = [frozenset(range(k))]
    for i, j in sorted(different):
        split: list[frozenset[int]] = []
        for column in columns:
            split += [column - {i}, column - {j}] if i in column and j in column else [column]
        columns = _absorbed(split)
    columns = _swept(columns, k)
    order = {g: r for r, g in enumerate(np.argsort(-np.asarray(means), kind="stable").tolist())}
    columns.sort(key=lambda column: sorted(order[g] for g in column))
    return tuple("".join(_name(c) for c, column in enumerate(columns) if g in column) for g in range(k))


def _absorbed(columns: list[frozenset[int]]) -> list[frozenset[int]]:
    unique = list(dict.fromkeys(columns))
    return [c for c in unique if c and not any(c < other for other in unique)]


def _swept(columns: list[frozenset[int]], k: int) -> list[frozenset[int]]:
    """Without columns whose every pair (or lone group) another column shows too."""
    kept = list(columns)
    for column in sorted(columns, key=len):
        rest = [c for c in kept if c != column]
        pairs = [(i, j) for i in column for j in column if i <= j]
        if rest and all(any(i in c and j in c for c in rest) for i, j in pairs):
            kept = rest
    return kept


def _name(position: int) -> str:
    """a … z, then a1, b1 …"""
    return chr(97 + position % 26) + (str(position // 26) if position >= 26 else "")
