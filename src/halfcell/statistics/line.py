"""The straight line: fit, band, prediction and its inverse."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Interval, Measured, coverage_factor, read_only
from halfcell.statistics.linear import fit_linear

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Inverse:
    """The x at which a line reads a given y.

    ``x`` carries the usual first-order uncertainty; ``interval`` is Fieller's exact one (ends infinite
    where the slope is not different from zero). ``outside`` says that x lies outside the fitted span.
    """

    x: Measured
    interval: Interval
    g: float
    outside: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Line:
    """y = intercept + slope·x by (weighted) least squares.

    ``covariance`` is that of slope and intercept; ``residual_sd`` is the residual standard deviation of
    a point of weight 1; ``r2`` and ``f`` are uncentred through zero. ``x_mean`` and ``sxx`` are weighted.
    """

    slope: Measured
    intercept: Measured
    covariance: float
    residual_sd: float
    df: float
    n: int
    r2: float
    f: float
    x: FloatArray
    y: FloatArray
    weights: FloatArray
    residuals: FloatArray
    standardised: FloatArray
    x_mean: float
    sxx: float
    rss: float
    through_zero: bool = False
    known: bool = False

    def at(self, x: float) -> Measured:
        """The line's own value at ``x`` with its standard uncertainty."""
        value = self.intercept.value + self.slope.value * x
        variance = self.intercept.u**2 + 2 * x * self.covariance + (x * self.slope.u) ** 2
        return Measured(value=value, u=math.sqrt(max(variance, 0.0)), df=self.slope.df)

    def confidence(self, x: ArrayLike, *, level: float = 0.95) -> FloatArray:
        """Half-width (n,) of the pointwise confidence band of the line at ``x`` (n,)."""
        return read_only(coverage_factor(level, self.slope.df) * np.sqrt(self._variance(x)))

    def simultaneous(self, x: ArrayLike, *, level: float = 0.95) -> FloatArray:
        """Half-width (n,) of the band that holds the whole line (Working and Hotelling 1929, from memory)."""
        from scipy import stats

        k = 1 if self.through_zero else 2
        q = (
            stats.chi2.ppf(level, k) / k
            if math.isinf(self.slope.df)
            else stats.f.ppf(level, k, self.slope.df)
        )
        return read_only(np.sqrt(k * float(q) * self._variance(x)))

    def prediction(
        self, x: ArrayLike, *, level: float = 0.95, replicates: int = 1, weight: float = 1.0
    ) -> FloatArray:
        """Half-width (n,) of the interval for the mean of ``replicates`` new readings of ``weight`` at ``x``."""
        extra = self._unit_variance / (weight * replicates)
        return read_only(coverage_factor(level, self.slope.df) * np.sqrt(self._variance(x) + extra))

    def inverse(self, y: float, *, replicates: int = 1, weight: float = 1.0, level: float = 0.95) -> Inverse:
        """The x that gives ``y``, the mean of ``replicates`` readings of ``weight``.

        Raises MethodError for a slope of zero. Source: Fieller, J. R. Stat. Soc. B 16 (1954) 175;
        Draper and Smith, Applied Regression Analysis, inverse regression (from memory).
        """
        return self.inverse_measured(
            Measured(value=y, u=math.sqrt(self._unit_variance / (weight * replicates)), df=self.slope.df),
            level=level,
        )

    def inverse_measured(self, y: Measured, *, level: float = 0.95) -> Inverse:
        """The x that gives ``y`` with an uncertainty of its own, independent of the line's."""
        from halfcell.statistics.ratios import ratio

        if self.slope.value == 0:
            raise MethodError("The line has no slope, so that no x can be read from it.")
        # (y − ȳ_line(x̄)) / slope about the centre, where numerator and slope are independent.
        centre = self.at(self.x_mean)
        parts = [(y.u, y.df), (centre.u, centre.df)]
        top_u = math.hypot(y.u, centre.u)
        below = sum(u**4 / df for u, df in parts if math.isfinite(df))
        same = y.df == centre.df
        top_df = y.df if same else (top_u**4 / below if below > 0 else math.inf)
        about = 0.0 if self.through_zero else self.x_mean
        top = (
            Measured(value=y.value, u=y.u, df=y.df)
            if self.through_zero
            else Measured(value=y.value - centre.value, u=top_u, df=top_df)
        )
        found = ratio(top, self.slope, level=level)
        x = found.ratio.value + about
        interval = Interval(
            low=found.interval.low + about, high=found.interval.high + about, level=level, method="Fieller"
        )
        return Inverse(
            x=Measured(value=x, u=found.ratio.u, df=found.ratio.df),
            interval=interval,
            g=found.g,
            outside=not (float(np.min(self.x)) <= x <= float(np.max(self.x))),
        )

    @property
    def _unit_variance(self) -> float:
        return 1.0 if self.known else self.residual_sd**2

    def _variance(self, x: ArrayLike) -> FloatArray:
        at = np.asarray(x, dtype=np.float64)
        variance = self.intercept.u**2 + 2 * at * self.covariance + (at * self.slope.u) ** 2
        return np.asarray(np.maximum(variance, 0.0))


def fit_line(
    x: ArrayLike,
    y: ArrayLike,
    *,
    weights: ArrayLike | None = None,
    known: bool = False,
    through_zero: bool = False,
) -> Line:
    """A straight line through points ``x`` (n,), ``y`` (n,).

    ``weights`` (n,) proportional to 1/variance of y; with ``known`` they are 1/variance, the uncertainties
    come from them alone and the degrees of freedom are infinite.

    Raises MethodError for fewer than three points (two through zero), one x value only, or numbers
    that are not finite.

    Source: Draper and Smith, Applied Regression Analysis (from memory); held to the NIST Statistical
    Reference Datasets for linear regression in the tests.
    """
    a, b = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    if a.ndim != 1 or a.shape != b.shape:
        raise MethodError(f"A line needs as many x as y in one row each; got shapes {a.shape} and {b.shape}.")
    least = 2 if through_zero else 3
    if a.size < least and not (known and a.size >= least - 1):
        raise MethodError(f"A line with an uncertainty needs at least {least} points; there are {a.size}.")
    if not through_zero and np.unique(a).size < 2:
        raise MethodError("All points have the same x; a line needs at least two different ones.")
    w = np.ones(a.size) if weights is None else np.asarray(weights, dtype=np.float64)
    design = a[:, None] if through_zero else np.column_stack([np.ones(a.size), a])
    fit = fit_linear(design, b, weights=w, known=known, constant=not through_zero)
    slope = fit.coefficient(0 if through_zero else 1)
    intercept = Measured(value=0.0, u=0.0, df=slope.df) if through_zero else fit.coefficient(0)
    x_mean = float(np.sum(w * a) / np.sum(w))
    about = 0.0 if through_zero else x_mean
    unit = 1.0 if known else fit.residual_sd
    spread = unit * np.sqrt(np.maximum(1.0 - fit.leverage, 1e-12) / w)
    standardised = np.divide(fit.residuals, spread, out=np.zeros(a.size), where=spread > 0)
    return Line(
        slope=slope,
        intercept=intercept,
        covariance=0.0 if through_zero else float(fit.covariance[0, 1]),
        residual_sd=fit.residual_sd,
        df=fit.df,
        n=fit.n,
        r2=fit.r2,
        f=fit.f,
        x=read_only(a),
        y=read_only(b),
        weights=read_only(w),
        residuals=fit.residuals,
        standardised=read_only(standardised),
        x_mean=x_mean,
        sxx=float(np.sum(w * (a - about) ** 2)),
        rss=fit.rss,
        through_zero=through_zero,
        known=known,
    )
