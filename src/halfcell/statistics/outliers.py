"""Named tests for a value that does not belong: they point it out, they never remove it."""

from __future__ import annotations

import functools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from halfcell.errors import MethodError

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.statistics.line import Line


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outlier:
    """``index`` of the most suspect value, the test's ``statistic``, its p-value, and whether it is one."""

    test: str
    index: int
    value: float
    statistic: float
    p: float
    suspect: bool


def grubbs(values: ArrayLike, *, side: Literal["two", "low", "high"] = "two", level: float = 0.95) -> Outlier:
    """Grubbs' test for one outlier in ``values`` (n,): the largest deviation over the standard deviation.

    One-sided and two-sided tests have different critical values. Raises MethodError for fewer than three
    values or no scatter.

    Source: Grubbs, Technometrics 11 (1969) 1; NIST/SEMATECH e-Handbook 1.3.5.17 (seen: uranium example).
    """
    from scipy import special

    v = np.asarray(values, dtype=np.float64)
    n = v.size
    if n < 3:
        raise MethodError(f"Grubbs' test needs at least three values; there are {n}.")
    sd = float(v.std(ddof=1))
    if sd == 0:
        raise MethodError("All values are the same; there is nothing to test.")
    away = (v - v.mean()) / sd
    index = int(np.argmax(np.abs(away) if side == "two" else away if side == "high" else -away))
    g = float(abs(away[index])) if side == "two" else float(away[index] if side == "high" else -away[index])
    below = (n - 1) ** 2 - n * g * g
    t = math.inf if below <= 0 else math.sqrt(n * (n - 2) * g * g / below)
    tails = 2 if side == "two" else 1
    p = min(1.0, tails * n * float(special.stdtr(n - 2, -t))) if g > 0 else 1.0
    return Outlier(
        test=f"Grubbs, {side}-sided" if side == "two" else f"Grubbs, {side}",
        index=index,
        value=float(v[index]),
        statistic=g,
        p=p,
        suspect=p < 1 - level,
    )


def grubbs_critical(n: int, *, alpha: float = 0.05, two_sided: bool = True) -> float:
    """The value of Grubbs' statistic that is exceeded with probability ``alpha``."""
    from scipy import special

    t = float(special.stdtrit(n - 2, 1 - alpha / ((2 if two_sided else 1) * n)))
    return (n - 1) / math.sqrt(n) * math.sqrt(t * t / (n - 2 + t * t))


def dixon(values: ArrayLike, *, level: float = 0.95) -> Outlier:
    """Dixon's r₁₀ = gap/range for one outlier at either end of ``values`` (n,), 3 ≤ n ≤ 10, two-sided.

    Raises MethodError outside that number of values or without scatter.

    Source: Dixon, Ann. Math. Stat. 22 (1951) 68; Rorabacher, Anal. Chem. 63 (1991) 139 (tables seen in
    teaching pages); the distribution is integrated here rather than looked up.
    """
    v = np.asarray(values, dtype=np.float64)
    if not 3 <= v.size <= 10:
        raise MethodError(f"Dixon's test by gap over range is for 3 to 10 values; there are {v.size}.")
    order = np.argsort(v, kind="stable")
    s = v[order]
    span = float(s[-1] - s[0])
    if span == 0:
        raise MethodError("All values are the same; there is nothing to test.")
    low, high = float(s[1] - s[0]) / span, float(s[-1] - s[-2]) / span
    q, index = (high, int(order[-1])) if high >= low else (low, int(order[0]))
    p = min(1.0, 2 * _dixon_tail(q, v.size))
    return Outlier(
        test="Dixon r10", index=index, value=float(v[index]), statistic=q, p=p, suspect=p < 1 - level
    )


def dixon_critical(n: int, *, alpha: float = 0.05) -> float:
    """The value of r₁₀ that is exceeded at either end with probability ``alpha``."""
    from scipy.optimize import brentq

    return float(brentq(lambda r: 2 * _dixon_tail(r, n) - alpha, 1e-6, 1 - 1e-9, xtol=1e-7))


@functools.lru_cache(maxsize=4096)
def _dixon_tail(r: float, n: int) -> float:
    """P((x₂ − x₁)/(x_n − x₁) > r) for n ordered normal values, by integration over x₁ and the range.

    ∫∫ n(n − 1) φ(x) φ(x + w) [Φ(x + w) − Φ(x + r w)]^(n−2) dx dw.
    """
    from scipy import special

    nodes, weights = np.polynomial.legendre.leggauss(90)
    x = 8.0 * nodes
    w = 7.0 * (nodes + 1)
    grid_x, grid_w = np.meshgrid(x, w, indexing="ij")
    upper = grid_x + grid_w
    inside = special.ndtr(upper) - special.ndtr(grid_x + r * grid_w)
    density = np.exp(-(grid_x**2 + upper**2) / 2) / (2 * np.pi)
    value = n * (n - 1) * density * np.maximum(inside, 0.0) ** (n - 2)
    return float(np.einsum("i,j,ij->", weights * 8.0, weights * 7.0, value))


def cochran(groups: Sequence[ArrayLike], *, level: float = 0.95) -> Outlier:
    """Cochran's test: is the largest variance of groups, (n,) arrays of one size, larger than chance makes it?

    For groups that differ in size their mean size is used. Raises MethodError for fewer than two groups of
    two values, or no scatter at all.

    Source: Cochran, Ann. Eugen. 11 (1941) 47; ISO 5725-2 (both from memory).
    """
    from scipy import special

    arrays = [np.asarray(g, dtype=np.float64) for g in groups]
    if len(arrays) < 2 or any(a.size < 2 for a in arrays):
        raise MethodError("Cochran's test needs at least two groups of two values or more.")
    variances = np.array([float(a.var(ddof=1)) for a in arrays])
    total = float(variances.sum())
    if total == 0:
        raise MethodError("No group scatters at all; there is nothing to test.")
    k, df = len(arrays), float(np.mean([a.size for a in arrays])) - 1
    index = int(np.argmax(variances))
    c = float(variances[index]) / total
    f = math.inf if c >= 1 else c * (k - 1) / (1 - c)
    p = min(1.0, k * float(special.fdtrc(df, (k - 1) * df, f))) if math.isfinite(f) else 0.0
    return Outlier(
        test="Cochran", index=index, value=float(variances[index]), statistic=c, p=p, suspect=p < 1 - level
    )


def cochran_critical(groups: int, size: int, *, alpha: float = 0.05) -> float:
    """The share of the largest variance that is exceeded with probability ``alpha``."""
    from scipy import special

    f = float(special.fdtri(size - 1, (groups - 1) * (size - 1), 1 - alpha / groups))
    return 1 / (1 + (groups - 1) / f)


def line_outlier(line: Line, *, level: float = 0.95) -> Outlier:
    """The point furthest from a line, by its externally studentised residual and Bonferroni's correction.

    Raises MethodError for fewer than five points or an exact fit.

    Source: Cook and Weisberg, Residuals and Influence in Regression, 1982 (from memory).
    """
    from scipy import special

    df = line.df - 1
    if df < 2 or not line.residual_sd > 0:
        raise MethodError(
            "A test of the furthest point needs five points that do not lie exactly on the line."
        )
    r2 = np.minimum(line.standardised**2, (line.df - 1e-9))
    t = np.sqrt(r2 * df / (line.df - r2))
    index = int(np.argmax(t))
    p = min(1.0, line.n * 2 * float(special.stdtr(df, -t[index])))
    return Outlier(
        test="studentised residual",
        index=index,
        value=float(line.y[index]),
        statistic=float(t[index]),
        p=p,
        suspect=p < 1 - level,
    )
