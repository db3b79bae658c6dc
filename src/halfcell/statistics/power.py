"""What a comparison could have seen, and how many electrodes it would take.

Power of Welch's t for two groups as an integral over the ratio of the sample variances (derived as
in ``welch_size``; checked by simulation and, for many values, against a general library).
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.statistics.tukey import chi_nodes

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """Two groups: true standard deviations and numbers."""

    s1: float
    s2: float
    n1: int
    n2: int

    @property
    def u(self) -> float:
        """Standard deviation of the difference of the means."""
        return math.sqrt(self.s1**2 / self.n1 + self.s2**2 / self.n2)

    @property
    def df(self) -> float:
        """Satterthwaite's degrees of freedom."""
        a, b = self.s1**2 / self.n1, self.s2**2 / self.n2
        return (a + b) ** 2 / (a * a / (self.n1 - 1) + b * b / (self.n2 - 1))


@functools.lru_cache(maxsize=512)
def _nodes(v1: int, v2: int) -> tuple[FloatArray, FloatArray]:
    """Share of the first sum of squares in both, as nodes and weights of its beta distribution."""
    from scipy import special

    x, w = special.roots_jacobi(32, v2 / 2 - 1, v1 / 2 - 1)
    return (x + 1) / 2, w / w.sum()


def welch_power(difference: float, design: Design, alpha: float = 0.05) -> float:
    """Chance that Welch's t at the nominal level ``alpha`` sees a true ``difference``.

    Exact for normal values: given the share of one group in both sums of squares the statistic is
    noncentral t with n1 + n2 − 2 degrees of freedom. Raises MethodError without scatter.
    """
    if not (design.u > 0 and min(design.n1, design.n2) >= 2):
        raise MethodError("Power needs some scatter and 2 or more values a group.")
    df = design.n1 + design.n2 - 2
    shift = abs(difference) / design.u
    if df > 400:
        from scipy import special

        return float(special.ndtr(shift + float(special.stdtrit(design.df, alpha / 2))))
    weight, at = _bounds(design, alpha)
    return float(np.clip(weight @ _beyond(at, shift, df), 0.0, 1.0))


@functools.lru_cache(maxsize=64)
def _bounds(design: Design, alpha: float) -> tuple[FloatArray, FloatArray]:
    """Weights (m,) of the shares, and Welch's bound at each share and standard deviation (m, nodes)."""
    from scipy import special

    v1, v2, df = design.n1 - 1, design.n2 - 1, design.n1 + design.n2 - 2
    b, w = _nodes(v1, v2)
    first = design.s1**2 / design.n1 / design.u**2 * b / v1
    second = design.s2**2 / design.n2 / design.u**2 * (1 - b) / v2
    nominal = (first + second) ** 2 / (first**2 / v1 + second**2 / v2)
    bound = -special.stdtrit(nominal, alpha / 2) * np.sqrt(df * (first + second))
    return w, _over(bound, df)


def beyond(bound: ArrayLike, shift: float, df: float) -> FloatArray:
    """Chance that the magnitude of a noncentral t exceeds ``bound`` (n,); ``shift`` is its noncentrality.

    The normal distribution is integrated over the chi distribution of the standard deviation, which
    stays exact where series for the noncentral t fail (large shifts with few degrees of freedom).
    """
    return _beyond(_over(bound, df), shift, df)


def _over(bound: ArrayLike, df: float) -> FloatArray:
    """``bound`` (n,) times each node of the standard deviation (n, nodes)."""
    out: FloatArray = np.atleast_1d(np.asarray(bound, dtype=np.float64))[:, None] * np.exp(
        chi_nodes(float(df))[0]
    )
    return out


def _beyond(at: FloatArray, shift: float, df: float) -> FloatArray:
    from scipy import special

    chance = special.ndtr(shift - at)
    # The other side counts where it is not nothing beside this one.
    if float(at.min()) + shift < 9.0:
        chance += special.ndtr(-shift - at)
    out: FloatArray = chance @ chi_nodes(float(df))[1]
    return out


def smallest_difference(design: Design, alpha: float = 0.05, power: float = 0.8) -> float:
    """The true difference that Welch's t at ``alpha`` sees with chance ``power``."""
    from scipy import optimize

    high = design.u
    while welch_power(high, design, alpha) < power:
        high *= 2
    return float(
        optimize.brentq(lambda d: welch_power(d, design, alpha) - power, 0.0, high, xtol=high * 1e-6)
    )


def groups_needed(
    difference: float, s1: float, s2: float, alpha: float = 0.05, power: float = 0.8, most: int = 1000
) -> int | None:
    """Values a group (equal numbers) to see ``difference`` with chance ``power``; None above ``most``."""

    def enough(n: int) -> bool:
        return welch_power(difference, Design(s1=s1, s2=s2, n1=n, n2=n), alpha) >= power

    if difference == 0 or not enough(most):
        return None
    low, high = 1, 2
    while not enough(high):
        low, high = high, min(2 * high, most)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return max(high, 2)
