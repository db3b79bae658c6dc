"""A straight line that a few bad points cannot move."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Interval

if TYPE_CHECKING:
    from numpy.typing import ArrayLike


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RobustLine:
    """Median of the slopes of all pairs of points, with its distribution-free interval."""

    slope: float
    interval: Interval
    intercept: float


def fit_robust_line(x: ArrayLike, y: ArrayLike, *, level: float = 0.95) -> RobustLine:
    """The line of ``y`` (n,) on ``x`` (n,) by the median of pairwise slopes.

    Raises MethodError for fewer than five points. Source: Theil 1950; Sen, J. Am. Stat. Assoc. 63 (1968) 1379
    (from memory), through scipy.
    """
    from scipy import stats

    a, b = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    if a.size < 5 or np.unique(a).size < 3:
        raise MethodError(
            f"A robust line needs five points at three levels; there are {a.size} at {np.unique(a).size}."
        )
    found = stats.theilslopes(b, a, alpha=level)
    interval = Interval(low=float(found.low_slope), high=float(found.high_slope), level=level, method="Sen")
    return RobustLine(slope=float(found.slope), interval=interval, intercept=float(found.intercept))
