"""Noncentral t: detection with an estimated standard deviation, and exact intervals for σ/slope."""

from __future__ import annotations

import functools
import math

from halfcell.errors import MethodError
from halfcell.results import Interval, Measured


def noncentrality(df: float, *, alpha: float = 0.05, beta: float = 0.05) -> float:
    """δ: how far, in standard deviations of the difference, the mean must lie so that a one-sided t test at
    ``alpha`` with ``df`` degrees of freedom misses it with probability ``beta`` only.

    Close to 2·t(1 − α, df), which is somewhat too large. Source: ISO 11843-2:2000; Currie, Pure Appl. Chem.
    67 (1995) 1699 (both from memory; the error rates are confirmed by simulation).
    """
    from scipy import special

    if math.isinf(df):
        return float(special.ndtri(1 - alpha) + special.ndtri(1 - beta))
    return float(special.nctdtrinc(df, beta, special.stdtrit(df, 1 - alpha)))


def signal_interval(t: float, df: float, *, level: float = 0.95) -> Interval:
    """Exact interval for δ = slope/σ-scaled, when its estimate ``t`` has ``df`` degrees of freedom.

    For a slope b with standard uncertainty u, t = b/u follows the noncentral t distribution about β/σ_b;
    the interval holds the values of δ that a two-sided test at 1 − ``level`` does not exclude. ``t`` ≥ 0.

    Source: interval for a standardised effect, Steiger and Fouladi in What If There Were No Significance
    Tests?, 1997 (from memory).
    """
    from scipy import special

    if t < 0:
        raise MethodError(f"The ratio of slope to uncertainty must be given as a magnitude; got {t:g}.")
    tail = (1 - level) / 2
    if math.isinf(df):
        z = float(special.ndtri(1 - tail))
        low, high = t - z, t + z
    elif t > 2000:
        low, high = (t * math.sqrt(float(special.chdtri(df, 1 - p)) / df) for p in (tail, 1 - tail))
    else:
        low, high = (float(special.nctdtrinc(df, p, t)) for p in (1 - tail, tail))
    return Interval(low=max(low, 0.0), high=high, level=level, method="noncentral t")


def sd_interval(sd: float, df: float, *, level: float = 0.95) -> Interval:
    """Interval for a standard deviation of normal readings, from χ². Source: any textbook."""
    from scipy import special

    tail = (1 - level) / 2
    low = sd * math.sqrt(df / float(special.chdtri(df, tail)))
    high = sd * math.sqrt(df / float(special.chdtri(df, 1 - tail)))
    return Interval(low=low, high=high, level=level, method="chi-square")


def symmetric_u(value: float, interval: Interval, df: float) -> float:
    """The standard uncertainty whose symmetric Student interval has the stated level for a skewed quantity.

    For a quantity proportional to an estimated standard deviation with ``df`` degrees of freedom, the half
    width h is solved from P(1 − h ≤ σ/s ≤ 1 + h) = level, and u = h·value/t. When the exact ``interval`` is
    wider than that of the standard deviation alone (a slope that is poorly known), u grows with it.
    """
    from halfcell.results import coverage_factor

    if not math.isfinite(interval.high) or math.isinf(df):
        return (interval.high - interval.low) / 2 / coverage_factor(interval.level, df)
    h = _half_width(df, interval.level)
    alone = sd_interval(1.0, df, level=interval.level)
    wider = max(1.0, (interval.high - interval.low) / value / (alone.high - alone.low))
    return h * wider * value / coverage_factor(interval.level, df)


@functools.lru_cache(maxsize=1024)
def _half_width(df: float, level: float) -> float:
    """h with P(1 − h ≤ σ/s ≤ 1 + h) = level."""
    from scipy import optimize, special

    def missing(h: float) -> float:
        below = float(special.chdtr(df, df / (1 + h) ** 2))
        above = float(special.chdtrc(df, df / (1 - h) ** 2)) if h < 1 else 0.0
        return below + above - (1 - level)

    return float(optimize.brentq(missing, 1e-9, 1e6))


def ratio_of_sd(sd: float, df: float, slope: Measured, level: float) -> Interval:
    """Interval for σ/|β| of a standard deviation and a slope that were estimated apart from each other.

    Combines the intervals of the two parts. Source: Donner and Zou, Stat. Methods Med. Res. 21 (2012) 347
    (from memory; coverage by simulation).
    """
    top, bottom = (
        sd_interval(sd, df, level=level),
        slope.times(math.copysign(1.0, slope.value)).interval(level),
    )
    a, l1, u1 = sd, top.low, top.high
    b, l2, u2 = abs(slope.value), bottom.low, bottom.high
    if l2 <= 0:
        return Interval(low=l1 / u2, high=math.inf, level=level, method="MOVER")
    # Ends of the set of ratios r with a − r b inside the combined margin.
    low = (a * b - math.sqrt(max((a * b) ** 2 - l1 * u2 * (2 * a - l1) * (2 * b - u2), 0.0))) / (
        u2 * (2 * b - u2)
    )
    high = (a * b + math.sqrt(max((a * b) ** 2 - u1 * l2 * (2 * a - u1) * (2 * b - l2), 0.0))) / (
        l2 * (2 * b - l2)
    )
    return Interval(low=low, high=high, level=level, method="MOVER")
