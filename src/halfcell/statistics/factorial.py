"""Two-level factors: main effects and interactions from cell means, and whether all steps are needed together."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Interval, Measured, coverage_factor

Cell = tuple[bool, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """The effect of a factor, or the interaction of several, named by ``factors``."""

    factors: tuple[str, ...]
    effect: Measured
    interval: Interval

    @property
    def name(self) -> str:
        """ "seeding" or "seeding × deposition"."""
        return " × ".join(self.factors)


@dataclass(frozen=True, slots=True, kw_only=True)
class CellMean:
    """Mean of a cell with the standard error of the mean, and its number of replicates."""

    levels: Cell
    mean: Measured
    n: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Factorial:
    """All effects of a two-level study.

    ``needed`` is True where the cell with all steps exceeds every other (one-sided, all comparisons
    together at ``level``) and the interaction of all factors is above zero by its interval;
    ``because`` says so in words, or what is missing. ``gain`` is the all-steps cell's excess
    over the best of the others.
    """

    factors: tuple[str, ...]
    cells: tuple[CellMean, ...]
    effects: tuple[Effect, ...]
    gain: Measured
    gain_low: float
    needed: bool
    because: str
    level: float


def factorial(
    factors: Sequence[str], cells: Mapping[Cell, Sequence[float]], *, level: float = 0.95
) -> Factorial:
    """Effects of two-level factors from replicated cells.

    Parameters
    ----------
    factors : names, k of them
    cells : levels of the factors to the replicates' values; all 2^k cells.

    Raises
    ------
    MethodError
        A cell is missing, or no cell has two replicates.

    Notes
    -----
    An effect is the mean of the cells at the high level less that at the low level (for interactions
    by the product of signs), its variance the sum of the cells' squared standard errors over
    (2^(k-1))², its degrees of freedom Satterthwaite's; a cell with one value borrows the pooled variance.
    Box, Hunter & Hunter, Statistics for Experimenters (from memory).
    """
    k = len(factors)
    wanted = list(itertools.product((False, True), repeat=k))
    missing = [c for c in wanted if not len(cells.get(c, ()))]
    if k < 1 or missing:
        raise MethodError(
            f"A study of {' and '.join(factors)} needs all {2**k} combinations; missing: {'; '.join(_words(factors, c) for c in missing)}."
        )
    spread = [(float(np.var(cells[c], ddof=1)), len(cells[c]) - 1) for c in wanted if len(cells[c]) > 1]
    if not spread:
        raise MethodError("No combination was made twice, so there is no scatter to judge an effect by.")
    pooled = sum(s * d for s, d in spread) / sum(d for _, d in spread)
    pooled_df = sum(d for _, d in spread)
    means = {c: _mean(np.asarray(cells[c], float), pooled, pooled_df) for c in wanted}
    effects: list[Effect] = []
    for size in range(1, k + 1):
        effects += [
            _effect(factors, which, means, k, level) for which in itertools.combinations(range(k), size)
        ]
    gain, gain_low, beats = _gain(means, k, level)
    together = effects[-1]
    needed = beats and (k == 1 or together.interval.low > 0)
    return Factorial(
        factors=tuple(factors),
        cells=tuple(CellMean(levels=c, mean=means[c], n=len(cells[c])) for c in wanted),
        effects=tuple(effects),
        gain=gain,
        gain_low=gain_low,
        needed=needed,
        because=_because(factors, beats, together, k),
        level=level,
    )


def _mean(values: np.ndarray, pooled: float, pooled_df: int) -> Measured:
    n = values.size
    if n == 1:
        return Measured(value=float(values[0]), u=math.sqrt(pooled), df=pooled_df)
    return Measured(value=float(values.mean()), u=math.sqrt(float(np.var(values, ddof=1)) / n), df=n - 1)


def _effect(
    factors: Sequence[str], which: tuple[int, ...], means: Mapping[Cell, Measured], k: int, level: float
) -> Effect:
    half = 2 ** (k - 1)
    total, parts = 0.0, []
    for cell, mean in means.items():
        sign = math.prod(1 if cell[i] else -1 for i in which)
        total += sign * mean.value / half
        parts.append((mean.u / half, mean.df))
    u, df = _combined(parts)
    t = coverage_factor(level, df)
    interval = Interval(low=total - t * u, high=total + t * u, level=level, method="Satterthwaite")
    return Effect(
        factors=tuple(factors[i] for i in which), effect=Measured(value=total, u=u, df=df), interval=interval
    )


def _combined(parts: Sequence[tuple[float, float]]) -> tuple[float, float]:
    total = sum(u * u for u, _ in parts)
    below = sum(u**4 / df for u, df in parts)
    return math.sqrt(total), (total * total / below if below > 0 else math.inf)


def _gain(means: Mapping[Cell, Measured], k: int, level: float) -> tuple[Measured, float, bool]:
    full = means[(True,) * k]
    others = {c: m for c, m in means.items() if c != (True,) * k}
    each = 1 - (1 - level) / len(others)
    gains = []
    for mean in others.values():
        u, df = _combined([(full.u, full.df), (mean.u, mean.df)])
        # one-sided at ``each``
        t = coverage_factor(2 * each - 1, df)
        gains.append((full.value - mean.value, u, df, full.value - mean.value - t * u))
    value, u, df, _ = min(gains, key=lambda g: g[0])
    low = min(g[3] for g in gains)
    return Measured(value=value, u=u, df=df), low, low > 0


def _because(factors: Sequence[str], beats: bool, together: Effect, k: int) -> str:
    names = " and ".join(factors)
    if not beats:
        return f"with {names} the response is not shown to exceed every other combination"
    if k > 1 and not together.interval.low > 0:
        return f"the response is highest with {names}, but no more than the sum of their single effects by the interval of {together.name}"
    return f"the response with {names} exceeds every other combination, and by more than the sum of the single effects"


def _words(factors: Sequence[str], cell: Cell) -> str:
    return ", ".join(
        f"{name} {'done' if done else 'left out'}" for name, done in zip(factors, cell, strict=True)
    )
