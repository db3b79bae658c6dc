"""Tukey's honestly significant difference (with Kramer's form for unequal numbers).

Sources: the studentized range as in Copenhaver & Holland 1988 (J. Stat. Comput. Simul. 30:1;
from memory); Tukey–Kramer as on the NIST/SEMATECH e-Handbook page 7.4.7.1.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.results import Measured
from halfcell.statistics.families import Pair, Pairwise, family
from halfcell.statistics.groups import as_groups, moments, need_scatter

if TYPE_CHECKING:
    from numpy.typing import ArrayLike


def tukey(groups: Sequence[ArrayLike], level: float = 0.95) -> Pairwise:
    """Simultaneous differences of all pairs of groups, (n,) arrays, one common variance assumed."""
    x = as_groups(groups, few=2)
    n, means, variances = moments(x)
    need_scatter(variances)
    k, df = len(x), float(np.sum(n) - len(x))
    pooled = float(np.sum(variances * (n - 1))) / df
    q = range_quantile(level, k, df)

    def one(i: int, j: int) -> Pair:
        u = math.sqrt(pooled * (1 / n[i] + 1 / n[j]))
        return range_pair(i, j, Measured(value=float(means[i] - means[j]), u=u, df=df), k, q)

    return family(k, "Tukey's honestly significant difference", level, one)


def range_pair(i: int, j: int, difference: Measured, k: int, q: float) -> Pair:
    """A pair judged by the studentized range of ``k`` means; ``q`` is its critical value."""
    half = q / math.sqrt(2) * difference.u
    value = difference.value
    return Pair(
        first=i,
        second=j,
        difference=difference,
        p=range_sf(abs(value) / difference.u * math.sqrt(2), k, difference.df),
        low=value - half,
        high=value + half,
        different=abs(value) > half,
    )


@functools.lru_cache(maxsize=64)
def _range_of_normals(k: int) -> Any:
    """ln w to the chance that the range of k standard normals exceeds w, as a spline."""
    from scipy import interpolate, special

    w = np.exp(np.linspace(math.log(1e-4), math.log(40.0), 1400))
    z = np.linspace(-9.0, 9.0, 361)
    phi = np.exp(-z * z / 2) / math.sqrt(2 * math.pi)
    inside = k * np.sum(
        phi * (special.ndtr(z)[None, :] - special.ndtr(z[None, :] - w[:, None])) ** (k - 1), axis=1
    )
    return interpolate.CubicSpline(np.log(w), 1 - inside * (z[1] - z[0]))


def range_sf(q: float, k: int, df: float) -> float:
    """Chance that the studentized range of ``k`` means exceeds ``q``; good to about 1e-9."""
    if q <= 0:
        return 1.0
    spline = _range_of_normals(k)
    if math.isinf(df):
        return float(np.clip(spline(math.log(min(max(q, 1e-4), 40.0))), 0.0, 1.0))
    y, density = chi_nodes(float(df))
    where = math.log(q) + y
    above = np.where(where < math.log(1e-4), 1.0, np.where(where > math.log(40.0), 0.0, spline(where)))
    return float(np.clip(np.sum(above * density), 0.0, 1.0))


@functools.lru_cache(maxsize=512)
def chi_nodes(df: float) -> tuple[Any, Any]:
    """Nodes y = ln(s/σ) and their probabilities (trapezoid, exponentially accurate)."""
    from scipy import special

    low = max(-18.0, 0.5 * (math.log(2 / df) + (math.log(1e-16) + special.gammaln(df / 2 + 1)) * 2 / df))
    y = np.linspace(low, math.log(1 + 9 / math.sqrt(2 * df) + 20 / df), 400)
    half = df / 2
    log_density = math.log(2) + half * math.log(half) - special.gammaln(half) + df * y - half * np.exp(2 * y)
    return y, np.exp(log_density) * (y[1] - y[0])


@functools.lru_cache(maxsize=2048)
def range_quantile(level: float, k: int, df: float) -> float:
    """The value that the studentized range of ``k`` means exceeds with chance 1 − ``level``."""
    from scipy import optimize

    alpha = 1 - level
    return float(optimize.brentq(lambda q: range_sf(q, k, df) - alpha, 1e-3, 1e4, xtol=1e-9, rtol=1e-12))
