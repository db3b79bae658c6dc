"""Two one-sided tests: is the difference of two means within a margin that a person stated?

Sources: Schuirmann 1987, J. Pharmacokinet. Biopharm. 15:657; Lakens 2017, Soc. Psychol. Pers.
Sci. 8:355 (from memory), with Welch's degrees of freedom.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from halfcell.errors import MethodError
from halfcell.results import Interval, Measured


@dataclass(frozen=True, slots=True, kw_only=True)
class Equivalence:
    """``same`` when the interval at level 1 − 2α lies within ± ``margin``; ``p`` is the larger one-sided p."""

    margin: float
    p: float
    same: bool
    interval: Interval


def equivalence(difference: Measured, margin: float, alpha: float = 0.05) -> Equivalence:
    """Test that |difference| < ``margin`` at ``alpha``.

    ``difference`` carries its standard uncertainty and degrees of freedom. Raises MethodError for a
    margin that is not positive and a difference without uncertainty.
    """
    if not margin > 0:
        raise MethodError(f"The margin of equivalence must be greater than zero; it is {margin:g}.")
    if not difference.u > 0:
        raise MethodError("The difference has no uncertainty, so equivalence cannot be tested.")
    from scipy import special

    def tail(t: float) -> float:
        return float(special.ndtr(t)) if math.isinf(difference.df) else float(special.stdtr(difference.df, t))

    p = max(
        tail((difference.value - margin) / difference.u), tail(-(difference.value + margin) / difference.u)
    )
    return Equivalence(margin=margin, p=p, same=p <= alpha, interval=difference.interval(1 - 2 * alpha))
