"""Families of comparisons: what a pair is, and p values of many tests taken together.

Sources: Holm 1979, Scand. J. Statist. 6:65; Benjamini & Hochberg 1995, J. R. Statist. Soc. B
57:289 (both from memory; checked against a general statistics library).
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Measured, read_only

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """Groups ``first`` and ``second`` (positions): the difference of their means, first − second.

    ``p`` is adjusted for the family; ``low`` and ``high`` are simultaneous, nan where the test
    gives no interval. ``different`` is the claim at the family's level.
    """

    first: int
    second: int
    difference: Measured
    p: float
    low: float
    high: float
    different: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Pairwise:
    """All pairs of a family at a family-wise level, by one method."""

    method: str
    level: float
    pairs: tuple[Pair, ...]

    def __iter__(self) -> Iterator[Pair]:
        return iter(self.pairs)

    def pair(self, a: int, b: int) -> Pair:
        """The pair of two positions, whichever stands first."""
        return next(p for p in self.pairs if {p.first, p.second} == {a, b})

    def claims(self) -> frozenset[tuple[int, int]]:
        """The pairs claimed to differ."""
        return frozenset((p.first, p.second) for p in self.pairs if p.different)


def all_pairs(k: int) -> Iterator[tuple[int, int]]:
    """Positions of all pairs of ``k`` groups."""
    return itertools.combinations(range(k), 2)


def family(
    k: int, method: str, level: float, one: Callable[[int, int], Pair], reference: int | None = None
) -> Pairwise:
    """Every pair of ``k`` groups (with ``reference``, if given), each made by ``one(first, second)``."""
    wanted = [(i, j) for i, j in all_pairs(k) if reference is None or reference in (i, j)]
    return Pairwise(method=method, level=level, pairs=tuple(one(i, j) for i, j in wanted))


def _checked(p: ArrayLike) -> FloatArray:
    values = read_only(p)
    if values.ndim != 1 or np.any((values < 0) | (values > 1)) or not np.all(np.isfinite(values)):
        raise MethodError(f"p values lie between 0 and 1; seen: {np.array2string(values)}.")
    return values


def holm(p: ArrayLike) -> FloatArray:
    """Holm's step-down adjusted p values, (n,) array in the order given."""
    values = _checked(p)
    order = np.argsort(values)
    m = len(values)
    stepped = np.maximum.accumulate(values[order] * (m - np.arange(m)))
    out = np.empty(m)
    out[order] = np.minimum(stepped, 1.0)
    return read_only(out)


def benjamini_hochberg(p: ArrayLike) -> FloatArray:
    """Adjusted p values that hold the false discovery rate, (n,) array in the order given."""
    values = _checked(p)
    order = np.argsort(values)
    m = len(values)
    stepped = np.minimum.accumulate((values[order] * m / np.arange(1, m + 1))[::-1])[::-1]
    out = np.empty(m)
    out[order] = np.minimum(stepped, 1.0)
    return read_only(out)


def holm_pairs(pairs: Sequence[Pair], level: float, method: str) -> Pairwise:
    """Pairs that carry unadjusted p values, adjusted by Holm; intervals are given up."""
    adjusted = holm([p.p for p in pairs])
    nan = float("nan")
    return Pairwise(
        method=method,
        level=level,
        pairs=tuple(
            Pair(
                first=p.first,
                second=p.second,
                difference=p.difference,
                p=float(a),
                low=nan,
                high=nan,
                different=bool(a <= 1 - level),
            )
            for p, a in zip(pairs, adjusted, strict=True)
        ),
    )
