"""What another species adds to the analyte's signal, and whether the two simply add up."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Measured
from halfcell.statistics.linear import Linear, fit_linear
from halfcell.statistics.ratios import Ratio, ratio

if TYPE_CHECKING:
    from numpy.typing import ArrayLike


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Confounding:
    """``signal`` A that the confounder adds at no analyte, at the level it was measured at.

    ``equivalent`` is the level of analyte it is read as (signal over sensitivity, Fieller), ``sensitivity`` A
    per mol/m³ of analyte without it. ``p_additive`` tests that the analyte's slope is the same with and
    without (nan where there are too few levels with it); ``slope_ratio`` is slope with over without.
    """

    signal: Measured
    sensitivity: Measured
    equivalent: Ratio
    p_additive: float
    slope_ratio: Ratio | None
    points: int
    points_with: int


def confounding(x: ArrayLike, present: ArrayLike, y: ArrayLike, *, level: float = 0.95) -> Confounding:
    """Currents ``y`` (n,) A at analyte levels ``x`` (n,) mol/m³, with the confounder ``present`` (n,) 1 or 0.

    One model for all points: y = a + S·x + d·present, and + e·x·present where the analyte was varied with the
    confounder present: S and d are then those of separate lines at no analyte, whether e is significant or
    not, so that the intervals do not depend on the outcome of a test. The scatter is pooled.

    Raises MethodError unless there are three points and two levels without it, one point with it, and
    scatter left to judge by.

    Source: analysis of covariance, Draper and Smith, Applied Regression Analysis (from memory); Fieller 1954.
    """
    a, z, b = (np.asarray(v, dtype=np.float64) for v in (x, present, y))
    with_it = z > 0
    without = ~with_it
    if int(without.sum()) < 3 or np.unique(a[without]).size < 2:
        raise MethodError(
            f"The analyte's own line needs three points at two levels without the confounder; there are {int(without.sum())} at {np.unique(a[without]).size}."
        )
    if not with_it.any():
        raise MethodError("No point was measured with the confounder present.")
    on = with_it.astype(float)
    base = np.column_stack([np.ones(a.size), a, on])
    fit, p, slopes = fit_linear(base, b), math.nan, None
    if np.unique(a[with_it]).size >= 2 and a.size >= 6:
        crossed = fit_linear(np.column_stack([base, a * on]), b)
        p = _p(crossed.coefficient(3))
        slopes = _slope_ratio(crossed, level)
        fit = crossed
    signal, sensitivity = fit.coefficient(2), fit.coefficient(1)
    return Confounding(
        signal=signal,
        sensitivity=sensitivity,
        equivalent=ratio(signal, sensitivity, covariance=float(fit.covariance[1, 2]), level=level),
        p_additive=p,
        slope_ratio=slopes,
        points=a.size,
        points_with=int(with_it.sum()),
    )


def _slope_ratio(fit: Linear, level: float) -> Ratio:
    slope, more = fit.coefficient(1), fit.coefficient(3)
    c = fit.covariance
    both = Measured(
        value=slope.value + more.value, u=math.sqrt(max(c[1, 1] + c[3, 3] + 2 * c[1, 3], 0.0)), df=slope.df
    )
    return ratio(both, slope, covariance=float(c[1, 1] + c[1, 3]), level=level)


def _p(m: Measured) -> float:
    from scipy import special

    return float(2 * special.stdtr(m.df, -abs(m.value) / m.u)) if m.u > 0 else 0.0
