"""Analysis of variance with several factors, also unbalanced.

Each effect is tested against all effects that do not contain it (sums of squares of the second
type); pairs of levels are differences of means adjusted for the other factors, judged by the
studentized range. Source: Yates 1934 (from memory); checked against a general library and R's
published result for warpbreaks.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Measured, read_only
from halfcell.statistics.families import Pair, Pairwise, family
from halfcell.statistics.tukey import range_pair, range_quantile

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """A factor or an interaction: sum of squares, F and p. ``factors`` names what it is of."""

    factors: tuple[str, ...]
    squares: float
    df: int
    f: float
    p: float

    @property
    def name(self) -> str:
        """As it is written: "seeding × plating"."""
        return " × ".join(self.factors)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Factorial:
    """All effects, the scatter within cells, and for each factor its levels with all pairs."""

    effects: tuple[Effect, ...]
    residual: float
    df: int
    levels: Mapping[str, tuple[str, ...]]
    pairs: Mapping[str, Pairwise]

    def effect(self, *factors: str) -> Effect:
        """The effect of a factor or of an interaction."""
        return next(e for e in self.effects if set(e.factors) == set(factors))


def factorial(
    y: ArrayLike, factors: Mapping[str, Sequence[str]], *, interactions: bool = True, level: float = 0.95
) -> Factorial:
    """Main effects and interactions of two.

    ``y`` (n,) values, ``factors`` the level of each value by factor. Raises MethodError for a factor of one
    level, an empty cell of an interaction, and where nothing is left for the scatter.
    """
    values = read_only(y)
    levels = {name: tuple(dict.fromkeys(given)) for name, given in factors.items()}
    for name, known in levels.items():
        if len(known) < 2 or len(factors[name]) != len(values):
            raise MethodError(
                f"Factor {name!r} has {len(known)} level(s) in {len(factors[name])} values; two or more levels, one a value, are needed."
            )
    terms: list[tuple[str, ...]] = [(name,) for name in factors]
    terms += list(itertools.combinations(factors, 2)) if interactions else []
    columns = {term: _columns(term, factors, levels) for term in terms}
    whole, rank = _rest(values, list(columns.values()))
    df = len(values) - rank
    if rank < 1 + sum(c.shape[1] for c in columns.values()):
        raise MethodError(
            "Some combination of levels was not measured, so its effects cannot be told apart; leave out interactions."
        )
    if df < 1 or whole <= 1e-12 * float(np.sum((values - values.mean()) ** 2)):
        raise MethodError(f"{len(values)} values and {rank} effects leave nothing to tell the scatter from.")
    effects = tuple(_effect(term, values, columns, whole / df, df) for term in terms)
    pairs = {name: _pairs(name, values, factors, levels, columns, whole / df, df, level) for name in factors}
    return Factorial(effects=effects, residual=math.sqrt(whole / df), df=df, levels=levels, pairs=pairs)


def _columns(
    term: tuple[str, ...], factors: Mapping[str, Sequence[str]], levels: Mapping[str, tuple[str, ...]]
) -> FloatArray:
    """Sum-to-zero columns of a term, (n, product of levels − 1)."""
    out = np.ones((len(factors[term[0]]), 1))
    for name in term:
        known = levels[name]
        code = np.vstack([np.eye(len(known) - 1), -np.ones(len(known) - 1)])
        part = code[[known.index(v) for v in factors[name]]]
        out = (out[:, :, None] * part[:, None, :]).reshape(len(out), -1)
    return out


def _rest(y: FloatArray, columns: Sequence[FloatArray]) -> tuple[float, int]:
    """Residual sum of squares and rank of a model with a mean."""
    x = np.hstack([np.ones((len(y), 1)), *columns])
    beta, _, rank, _ = np.linalg.lstsq(x, y, rcond=None)
    return float(np.sum((y - x @ beta) ** 2)), int(rank)


def _effect(
    term: tuple[str, ...],
    y: FloatArray,
    columns: Mapping[tuple[str, ...], FloatArray],
    variance: float,
    rest: int,
) -> Effect:
    from scipy import special

    others = [c for t, c in columns.items() if t != term and not set(term) < set(t)]
    squares = max(_rest(y, others)[0] - _rest(y, [*others, columns[term]])[0], 0.0)
    df = columns[term].shape[1]
    f = squares / df / variance
    return Effect(factors=term, squares=squares, df=df, f=f, p=float(special.fdtrc(df, rest, f)))


def _pairs(
    name: str,
    y: FloatArray,
    factors: Mapping[str, Sequence[str]],
    levels: Mapping[str, tuple[str, ...]],
    columns: Mapping[tuple[str, ...], FloatArray],
    variance: float,
    df: int,
    level: float,
) -> Pairwise:
    """Pairs of a factor's levels from the model of main effects, the scatter of the whole one."""
    known = levels[name]
    mains = [(n,) for n in factors]
    x = np.hstack([np.ones((len(y), 1)), *(columns[t] for t in mains)])
    start = 1 + sum(columns[t].shape[1] for t in mains[: mains.index((name,))])
    inverse = np.linalg.inv(x.T @ x)
    beta = inverse @ x.T @ y
    code = np.vstack([np.eye(len(known) - 1), -np.ones(len(known) - 1)])
    q = range_quantile(level, len(known), float(df))

    def one(i: int, j: int) -> Pair:
        row = np.zeros(x.shape[1])
        row[start : start + len(known) - 1] = code[i] - code[j]
        gap = Measured(
            value=float(row @ beta), u=math.sqrt(variance * float(row @ inverse @ row)), df=float(df)
        )
        return range_pair(i, j, gap, len(known), q)

    return family(
        len(known), "Tukey's honestly significant difference, adjusted for the other factors", level, one
    )
