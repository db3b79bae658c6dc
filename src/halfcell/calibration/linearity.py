"""Is it a straight line? Lack of fit, Mandel's test, runs of residuals, and over which span."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.statistics.line import Line, fit_line
from halfcell.statistics.polynomial import fit_polynomial

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Test:
    """A test's statistic, degrees of freedom and p-value; ``why`` says why there is none (p is nan)."""

    name: str
    statistic: float
    df: tuple[float, float]
    p: float
    why: str = ""

    def passes(self, level: float = 0.95) -> bool:
        """Whether the straight line is not rejected (also when there was nothing to test with)."""
        return not self.p < 1 - level


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LinearRange:
    """The largest contiguous span of levels that passes: ends in the unit of x, and the points inside.

    ``whole`` says that all levels passed; ``rejected`` is the p-value of all levels together.
    """

    low: float
    high: float
    inside: tuple[bool, ...]
    whole: bool
    p_whole: float
    rule: str


def lack_of_fit(x: ArrayLike, y: ArrayLike, *, weights: ArrayLike | None = None) -> Test:
    """Scatter of the level means about the line against that of replicates (pure error).

    Source: Draper and Smith, Applied Regression Analysis, pure error (from memory).
    """
    from scipy import stats

    a, b = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    w = np.ones(a.size) if weights is None else np.asarray(weights, dtype=np.float64)
    line = fit_line(a, b, weights=w)
    levels, index = np.unique(a, return_inverse=True)
    pure_df, fit_df = a.size - levels.size, levels.size - 2
    if pure_df < 1 or fit_df < 1:
        why = "no level was measured twice" if pure_df < 1 else "there are fewer than three levels"
        return Test(name="lack of fit", statistic=math.nan, df=(fit_df, pure_df), p=math.nan, why=why)
    sums = np.bincount(index, w)
    means = np.bincount(index, w * b) / sums
    pure = float(np.sum(w * (b - means[index]) ** 2))
    f = math.inf if pure == 0 else ((line.rss - pure) / fit_df) / (pure / pure_df)
    return Test(
        name="lack of fit", statistic=f, df=(fit_df, pure_df), p=float(stats.f.sf(f, fit_df, pure_df))
    )


def mandel(x: ArrayLike, y: ArrayLike, *, weights: ArrayLike | None = None) -> Test:
    """Does a quadratic term reduce the residual scatter significantly?

    Source: Mandel, The Statistical Analysis of Experimental Data, 1964; DIN 38402-51 (both from memory).
    """
    from scipy import stats

    a = np.asarray(x, dtype=np.float64)
    n = a.size
    if np.unique(a).size < 4:
        return Test(
            name="Mandel",
            statistic=math.nan,
            df=(1, n - 3),
            p=math.nan,
            why="there are fewer than four levels",
        )
    line = fit_line(a, y, weights=weights)
    quadratic = fit_polynomial(a, y, 2, weights=weights)
    f = math.inf if quadratic.rss == 0 else (line.rss - quadratic.rss) / (quadratic.rss / (n - 3))
    return Test(name="Mandel", statistic=f, df=(1, n - 3), p=float(stats.f.sf(f, 1, n - 3)))


def runs(residuals: ArrayLike) -> Test:
    """Are the signs of residuals, in order of x, in fewer runs than chance makes? Exact, one-sided.

    Source: Wald and Wolfowitz, Ann. Math. Stat. 11 (1940) 147 (from memory).
    """
    signs = np.asarray(residuals, dtype=np.float64)
    signs = signs[signs != 0] > 0
    n1, n2 = int(signs.sum()), int((~signs).sum())
    if n1 == 0 or n2 == 0 or n1 + n2 < 6:
        return Test(
            name="runs",
            statistic=math.nan,
            df=(n1, n2),
            p=math.nan,
            why="there are too few residuals of each sign",
        )
    count = 1 + int(np.sum(signs[1:] != signs[:-1]))
    total = math.comb(n1 + n2, n1)
    ways = 0
    for r in range(2, count + 1):
        k = r // 2
        if r % 2 == 0:
            ways += 2 * math.comb(n1 - 1, k - 1) * math.comb(n2 - 1, k - 1)
        else:
            ways += math.comb(n1 - 1, k) * math.comb(n2 - 1, k - 1) + math.comb(n1 - 1, k - 1) * math.comb(
                n2 - 1, k
            )
    return Test(name="runs", statistic=float(count), df=(n1, n2), p=ways / total)


def linear_range(
    x: ArrayLike, y: ArrayLike, *, weights: ArrayLike | None = None, level: float = 0.95, least: int = 5
) -> LinearRange:
    """The largest contiguous span of at least ``least`` levels in which the straight line holds.

    A span passes when neither lack of fit (where there are replicates) nor Mandel's test rejects the line
    at ``level``, each at half the risk when both can be made. All levels are tried first, then one fewer
    from either end, and so on; among spans of as many levels the one with the larger p-value is taken.

    Raises MethodError when no span passes or there are fewer than ``least`` levels.

    Source: methods named; the search is common practice, no source.
    """
    a, b = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    w = np.ones(a.size) if weights is None else np.asarray(weights, dtype=np.float64)
    levels = np.unique(a)
    if levels.size < least:
        raise MethodError(f"A linear range needs at least {least} levels; there are {levels.size}.")
    rule = f"largest contiguous span of ≥ {least} levels in which lack of fit and Mandel's test do not reject the line at {level:g}"
    p_whole = math.nan
    for size in range(levels.size, least - 1, -1):
        tried: list[tuple[float, int]] = []
        for first in range(levels.size - size + 1):
            chosen = (a >= levels[first]) & (a <= levels[first + size - 1])
            p = _straightness(a[chosen], b[chosen], w[chosen])
            if size == levels.size:
                p_whole = p
            tried.append((p, first))
        best, first = max(tried)
        if best >= 1 - level:
            chosen = (a >= levels[first]) & (a <= levels[first + size - 1])
            return LinearRange(
                low=float(levels[first]),
                high=float(levels[first + size - 1]),
                inside=tuple(bool(v) for v in chosen),
                whole=size == levels.size,
                p_whole=p_whole,
                rule=rule,
            )
    raise MethodError(f"No span of {least} levels is straight (p = {p_whole:.2g} over all levels).")


def _straightness(x: FloatArray, y: FloatArray, w: FloatArray) -> float:
    found = [t.p for t in (lack_of_fit(x, y, weights=w), mandel(x, y, weights=w)) if math.isfinite(t.p)]
    return min(1.0, min(found) * len(found)) if found else 1.0


def constant_scatter(line: Line, *, replicates: bool = True) -> Test:
    """Does the scatter grow with x? Absolute residuals against x, by the rank correlation.

    Source: Spearman's test on absolute residuals (common practice, no source).
    """
    from scipy import stats

    if line.n < 6 or not np.any(line.residuals):
        return Test(
            name="constant scatter",
            statistic=math.nan,
            df=(line.n, 0),
            p=math.nan,
            why="there are fewer than six points",
        )
    found = stats.spearmanr(line.x, np.abs(line.standardised))
    return Test(
        name="constant scatter", statistic=float(found.statistic), df=(line.n, 0), p=float(found.pvalue)
    )
