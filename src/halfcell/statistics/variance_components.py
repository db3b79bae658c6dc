"""Scatter taken apart: within and between electrodes, and between batches, with intervals."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Interval

if TYPE_CHECKING:
    from numpy.typing import ArrayLike


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OneWay:
    """One-way analysis of variance of unequal groups, with the between-group standard deviation.

    ``between`` is √max(0, (MS_b − MS_w)/n₀) and ``between_interval`` its interval; ``within`` is √MS_w.
    """

    ss_between: float
    ss_within: float
    df_between: int
    df_within: int
    f: float
    p: float
    r2: float
    within: float
    within_interval: Interval
    between: float
    between_interval: Interval


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Component:
    """A standard deviation with its interval and the degrees of freedom of its mean square."""

    sd: float
    interval: Interval
    df: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Nested:
    """``batches`` and ``inside``: scatter between batches, and of electrodes inside a batch."""

    mean: float
    batches: Component
    inside: Component


def one_way(groups: Sequence[ArrayLike], *, level: float = 0.95) -> OneWay:
    """Analysis of variance of ``groups``, (n,) arrays of readings.

    Data are centred first, so that many constant leading digits do not drown the scatter. Raises MethodError
    for fewer than two groups or no group with two readings.

    Source: any textbook; intervals by Ting, Burdick, Graybill, Jeyaratnam and Lu, J. Stat. Comput. Simul. 35
    (1990) 135 (from memory; coverage by simulation).
    """
    from scipy import special

    arrays = [np.asarray(g, dtype=np.float64) for g in groups]
    sizes = np.array([a.size for a in arrays])
    n, k = int(sizes.sum()), len(arrays)
    if k < 2 or n - k < 1:
        raise MethodError(
            f"Analysis of variance needs two groups and one with two readings; there are {k} groups of {n} readings."
        )
    shift = float(np.median(np.concatenate(arrays)))
    arrays = [a - shift for a in arrays]
    grand = float(np.concatenate(arrays).mean())
    means = np.array([float(a.mean()) for a in arrays])
    ssb = float(np.sum(sizes * (means - grand) ** 2))
    ssw = float(sum(np.sum((a - m) ** 2) for a, m in zip(arrays, means, strict=True)))
    dfb, dfw = k - 1, n - k
    msb, msw = ssb / dfb, ssw / dfw
    n0 = (n - float(np.sum(sizes**2)) / n) / (k - 1)
    f = math.inf if msw == 0 else msb / msw
    return OneWay(
        ss_between=ssb,
        ss_within=ssw,
        df_between=dfb,
        df_within=dfw,
        f=f,
        p=float(special.fdtrc(dfb, dfw, f)) if math.isfinite(f) else 0.0,
        r2=ssb / (ssb + ssw) if ssb + ssw > 0 else math.nan,
        within=math.sqrt(msw),
        within_interval=_root(_own(msw, dfw, level), level, "chi-square"),
        between=math.sqrt(max((msb - msw) / n0, 0.0)),
        between_interval=_scaled(difference_interval(msb, dfb, msw, dfw, level=level), 1 / n0, level),
    )


def nested(
    values: ArrayLike, batch: Sequence[str], *, noise: float = 0.0, noise_df: int = 0, level: float = 0.95
) -> Nested:
    """Scatter between batches and of electrodes inside a batch, for one value an electrode (n,).

    ``noise`` is the mean variance of the values' own errors with ``noise_df`` degrees of freedom, taken out of
    the scatter inside a batch. Unequal batches are treated by unweighted means, which is approximate.

    Raises MethodError for fewer than two batches or no batch with two electrodes.

    Source: Burdick and Graybill, Confidence Intervals on Variance Components, 1992 (from memory).
    """
    v = np.asarray(values, dtype=np.float64)
    names = list(dict.fromkeys(batch))
    label = np.asarray(list(batch))
    groups = [v[label == name] for name in names]
    sizes = np.array([g.size for g in groups])
    df_in = int(v.size - len(names))
    if len(names) < 2 or df_in < 1:
        raise MethodError(
            f"Scatter between batches needs two batches and one with two electrodes; there are {len(names)} batches of {v.size} electrodes."
        )
    inside = float(sum(np.sum((g - g.mean()) ** 2) for g in groups)) / df_in
    means = np.array([float(g.mean()) for g in groups])
    harmonic = len(names) / float(np.sum(1 / sizes))
    between = harmonic * float(means.var(ddof=1))
    batches = _scaled(
        difference_interval(between, len(names) - 1, inside, df_in, level=level), 1 / harmonic, level
    )
    if noise > 0 and noise_df > 0:
        own = _scaled(difference_interval(inside, df_in, noise, noise_df, level=level), 1.0, level)
    else:
        own = _root(_own(inside, df_in, level), level, "chi-square")
    return Nested(
        mean=float(means.mean()),
        batches=Component(
            sd=math.sqrt(max((between - inside) / harmonic, 0.0)), interval=batches, df=len(names) - 1
        ),
        inside=Component(sd=math.sqrt(max(inside - noise, 0.0)), interval=own, df=df_in),
    )


def difference_interval(ms1: float, df1: int, ms2: float, df2: int, *, level: float = 0.95) -> Interval:
    """Interval for E(ms1) − E(ms2) of two independent mean squares; ends may lie below zero.

    Source: Ting, Burdick, Graybill, Jeyaratnam and Lu, J. Stat. Comput. Simul. 35 (1990) 135 (from memory;
    coverage by simulation).
    """
    from scipy import special

    tail = (1 - level) / 2

    def f(upper: float, a: int, b: float) -> float:
        """The value exceeded with probability ``upper`` by F with a and b degrees of freedom."""
        if math.isinf(b):
            return float(special.chdtri(a, upper)) / a
        return float(special.fdtri(a, b, 1 - upper))

    inf = math.inf
    g1, h2 = 1 - 1 / f(tail, df1, inf), 1 / f(1 - tail, df2, inf) - 1
    h1, g2 = 1 / f(1 - tail, df1, inf) - 1, 1 - 1 / f(tail, df2, inf)
    fu, fl = f(tail, df1, df2), f(1 - tail, df1, df2)
    g12 = ((fu - 1) ** 2 - (g1 * fu) ** 2 - h2**2) / fu
    h12 = ((1 - fl) ** 2 - (h1 * fl) ** 2 - g2**2) / fl
    low = (g1 * ms1) ** 2 + (h2 * ms2) ** 2 + g12 * ms1 * ms2
    high = (h1 * ms1) ** 2 + (g2 * ms2) ** 2 + h12 * ms1 * ms2
    return Interval(
        low=ms1 - ms2 - math.sqrt(max(low, 0.0)),
        high=ms1 - ms2 + math.sqrt(max(high, 0.0)),
        level=level,
        method="modified large sample",
    )


def _own(ms: float, df: int, level: float) -> Interval:
    from scipy import special

    tail = (1 - level) / 2
    return Interval(
        low=ms * df / float(special.chdtri(df, tail)),
        high=ms * df / float(special.chdtri(df, 1 - tail)),
        level=level,
    )


def _root(variance: Interval, level: float, method: str) -> Interval:
    return Interval(
        low=math.sqrt(max(variance.low, 0.0)),
        high=math.sqrt(max(variance.high, 0.0)),
        level=level,
        method=method,
    )


def _scaled(variance: Interval, factor: float, level: float) -> Interval:
    scaled = Interval(low=variance.low * factor, high=variance.high * factor, level=level)
    return _root(scaled, level, variance.method)
