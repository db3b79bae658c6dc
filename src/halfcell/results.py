"""The shapes in which numbers travel: a measured value and an interval.

Every public method returns a frozen dataclass whose numbers are ``Measured`` wherever an
uncertainty makes sense. Source: JCGM 100:2008 (GUM), standard uncertainty and degrees of
freedom (clauses 4 and G.3).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """An interval with its level and the method that made it; ends may be infinite."""

    low: float
    high: float
    level: float = 0.95
    method: str = ""

    def __contains__(self, value: float) -> bool:
        return self.low <= value <= self.high


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """A value with its standard uncertainty and degrees of freedom, in SI units.

    ``u`` is nan where no uncertainty can be given; ``why`` then says why. ``df`` is
    infinite for an uncertainty that is not estimated from scatter.
    """

    value: float
    u: float = math.nan
    df: float = math.inf
    why: str = ""

    def interval(self, level: float = 0.95) -> Interval:
        """Two-sided interval from Student's t with ``df`` degrees of freedom."""
        if not math.isfinite(self.u):
            return Interval(low=-math.inf, high=math.inf, level=level, method="no uncertainty")
        k = coverage_factor(level, self.df)
        return Interval(
            low=self.value - k * self.u, high=self.value + k * self.u, level=level, method="Student's t"
        )

    def times(self, factor: float) -> Measured:
        """The same quantity in another unit, or times an exact number."""
        return Measured(value=self.value * factor, u=self.u * abs(factor), df=self.df, why=self.why)


def coverage_factor(level: float, df: float) -> float:
    """Two-sided coverage factor k for a level such as 0.95 (1.96 for infinite df)."""
    from scipy import special

    p = 0.5 + level / 2
    if math.isinf(df):
        return float(special.ndtri(p))
    return float(special.stdtrit(df, p))


def unknown(why: str) -> Measured:
    """A value that could not be had, with the reason."""
    return Measured(value=math.nan, why=why)


def read_only(values: ArrayLike) -> FloatArray:
    """A float64 copy that nobody can write to."""
    array = np.array(values, dtype=np.float64)
    array.setflags(write=False)
    return array


def effective_df(parts: list[tuple[float, float]]) -> float:
    """Welch–Satterthwaite degrees of freedom of a sum (GUM G.4.1).

    ``parts`` holds (standard uncertainty of the part, its degrees of freedom).
    """
    total = sum(u * u for u, _ in parts)
    below = sum(u**4 / df for u, df in parts if math.isfinite(df) and df > 0)
    if total == 0 or below == 0:
        return math.inf
    return total * total / below


def same(a: Any, b: Any, *, rtol: float = 0.0) -> bool:
    """Deep equality of results (dataclasses with arrays); nan equals nan. For tests."""
    if type(a) is not type(b):
        return False
    if isinstance(a, np.ndarray):
        return a.shape == b.shape and bool(np.allclose(a, b, rtol=rtol, atol=0.0, equal_nan=True))
    if isinstance(a, float):
        return (math.isnan(a) and math.isnan(b)) or math.isclose(a, b, rel_tol=rtol) or a == b
    if hasattr(a, "__dataclass_fields__"):
        return all(same(getattr(a, n), getattr(b, n), rtol=rtol) for n in a.__dataclass_fields__)
    if isinstance(a, (tuple, list)):
        return len(a) == len(b) and all(same(x, y, rtol=rtol) for x, y in zip(a, b, strict=True))
    if isinstance(a, dict):
        return a.keys() == b.keys() and all(same(a[k], b[k], rtol=rtol) for k in a)
    return bool(a == b)
