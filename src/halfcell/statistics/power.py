"""What a comparison could have seen, and how many electrodes it would take.

Power of Welch's t for two groups by Student's noncentral t at Satterthwaite's degrees of freedom
of the true variances (an approximation, checked by simulation).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from halfcell.errors import MethodError


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


def welch_power(difference: float, design: Design, alpha: float = 0.05) -> float:
    """Chance that Welch's t at ``alpha`` sees a true ``difference``. Raises MethodError without scatter."""
    if not (design.u > 0 and min(design.n1, design.n2) >= 2):
        raise MethodError("Power needs some scatter and 2 or more values a group.")
    from scipy import special

    df = design.df
    critical = -float(special.stdtrit(df, alpha / 2))
    shift = abs(difference) / design.u
    # Large df with a large critical value upsets the noncentral t; the normal is then exact enough.
    if df > 1e6 or shift > 30:
        return float(special.ndtr(shift - critical))
    low = float(special.nctdtr(df, shift, critical))
    return 1.0 if math.isnan(low) and shift > critical else 1.0 - low


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
