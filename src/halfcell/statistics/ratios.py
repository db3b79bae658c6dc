"""The ratio of two measured numbers, with the interval that stays right when the divisor is poor."""

from __future__ import annotations

import math
from dataclasses import dataclass

from halfcell.errors import MethodError
from halfcell.results import Interval, Measured, coverage_factor


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ratio:
    """A ratio a/b.

    ``ratio`` carries the first-order (delta-method) standard uncertainty. ``interval`` is Fieller's
    exact set; ``kind`` is "bounded", "unbounded" (all ratios but those between ``gap``) or "all"
    (the data exclude no ratio), and in the latter two the interval's ends are infinite.
    ``g`` = (t·u_b/b)²; below about 0.05 the simple interval agrees with Fieller's.
    """

    ratio: Measured
    interval: Interval
    kind: str
    g: float
    gap: tuple[float, float] | None = None


def ratio(a: Measured, b: Measured, *, covariance: float = 0.0, level: float = 0.95) -> Ratio:
    """a/b with Fieller's interval at ``level``.

    ``covariance`` is that of a and b. The set of ratios r with |a − r b| ≤ t·u(a − r b); t has the
    common degrees of freedom, or the Welch–Satterthwaite ones of a − r b at the estimated ratio.

    Raises MethodError when b is zero or an uncertainty is missing.

    Source: Fieller, J. R. Stat. Soc. B 16 (1954) 175 (from memory).
    """
    if b.value == 0 or not math.isfinite(b.value) or not math.isfinite(a.value):
        raise MethodError(f"The ratio {a.value:g}/{b.value:g} has no value.")
    if not (math.isfinite(a.u) and math.isfinite(b.u)):
        raise MethodError("A ratio's interval needs the uncertainty of both numbers.")
    r = a.value / b.value
    df = _df(a, b, r)
    t = coverage_factor(level, df)
    u = math.sqrt(max(a.u**2 - 2 * r * covariance + r * r * b.u**2, 0.0)) / abs(b.value)
    g = (t * b.u / b.value) ** 2
    # (b² − t²u_b²) r² − 2 (ab − t²cov) r + (a² − t²u_a²) ≤ 0
    p, q, c = b.value**2 - (t * b.u) ** 2, a.value * b.value - t * t * covariance, a.value**2 - (t * a.u) ** 2
    inside = q * q - p * c
    method = "Fieller"
    if p > 0:
        root = math.sqrt(max(inside, 0.0))
        low, high, kind, gap = (q - root) / p, (q + root) / p, "bounded", None
    elif inside > 0 and p < 0:
        root = math.sqrt(inside)
        ends = sorted(((q - root) / p, (q + root) / p))
        low, high, kind, gap = -math.inf, math.inf, "unbounded", (ends[0], ends[1])
    else:
        low, high, kind, gap = -math.inf, math.inf, "all", None
    return Ratio(
        ratio=Measured(value=r, u=u, df=df, why=a.why or b.why),
        interval=Interval(low=low, high=high, level=level, method=method),
        kind=kind,
        g=g,
        gap=gap,
    )


def _df(a: Measured, b: Measured, r: float) -> float:
    if a.df == b.df:
        return a.df
    parts = [(a.u, a.df), (r * b.u, b.df)]
    total = sum(u * u for u, _ in parts)
    below = sum(u**4 / df for u, df in parts if math.isfinite(df))
    return total * total / below if below > 0 else math.inf
