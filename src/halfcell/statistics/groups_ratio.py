"""The ratio of two means of independent groups, variances free.

Source: Fieller 1954, J. R. Statist. Soc. B 16:175, with Satterthwaite's degrees of freedom at
the estimated ratio, as Tamhane & Logan 2004 do (both from memory; coverage
checked by simulation).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from halfcell.results import Interval, Measured


@dataclass(frozen=True, slots=True, kw_only=True)
class MeanRatio:
    """First over second mean. The interval is (−∞, ∞) where the second is not told from zero."""

    ratio: Measured
    interval: Interval


def mean_ratio(first: Measured, second: Measured, alpha: float = 0.05) -> MeanRatio:
    """Ratio of two independent means with Fieller's interval at 1 − ``alpha``.

    ``first`` and ``second`` carry the standard uncertainty of the mean and its degrees of freedom.
    """
    from scipy import special

    if second.value == 0:
        ratio = Measured(value=math.nan, why="the second mean is zero")
        return MeanRatio(
            ratio=ratio, interval=Interval(low=-math.inf, high=math.inf, level=1 - alpha, method="Fieller")
        )
    r = first.value / second.value
    parts = (first.u**2, (r * second.u) ** 2)
    total = sum(parts)
    below = sum(
        v * v / d for v, d in zip(parts, (first.df, second.df), strict=True) if v > 0 and math.isfinite(d)
    )
    df = total**2 / below if below > 0 else math.inf
    k = -float(special.ndtri(alpha / 2)) if math.isinf(df) else -float(special.stdtrit(df, alpha / 2))
    ratio = Measured(value=r, u=math.sqrt(total) / abs(second.value), df=df)
    a = second.value**2 - (k * second.u) ** 2
    b = first.value * second.value
    inside = b * b - a * (first.value**2 - (k * first.u) ** 2)
    if a <= 0 or inside < 0:
        return MeanRatio(
            ratio=ratio, interval=Interval(low=-math.inf, high=math.inf, level=1 - alpha, method="Fieller")
        )
    root = math.sqrt(inside)
    interval = Interval(low=(b - root) / a, high=(b + root) / a, level=1 - alpha, method="Fieller")
    return MeanRatio(ratio=ratio, interval=interval)
