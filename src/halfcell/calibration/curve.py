"""One calibration: the line over its linear range, its tests, and its limits."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from halfcell.calibration.limits import Limits, limits
from halfcell.calibration.linearity import (
    LinearRange,
    Test,
    constant_scatter,
    lack_of_fit,
    linear_range,
    mandel,
    runs,
)
from halfcell.calibration.models import Models, compare_models
from halfcell.calibration.saturation import Saturation, fit_saturation
from halfcell.errors import MethodError
from halfcell.results import Measured, coverage_factor, read_only
from halfcell.statistics.errors_in_x import UnsureLine, fit_unsure_line, x_matters
from halfcell.statistics.line import Line, fit_line
from halfcell.statistics.outliers import Outlier, line_outlier
from halfcell.statistics.robust_line import RobustLine, fit_robust_line
from halfcell.statistics.weighted import weights_for
from halfcell.units import percent

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray


T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Calibration:
    """A calibration line with all that is said about it.

    ``used`` (n,) are the points the line rests on (1 or 0); ``range`` is None where there are too few
    levels to look for one; ``limits`` is None where the slope is not different from zero (``why_no_limits``).
    """

    line: Line
    x: FloatArray
    y: FloatArray
    used: FloatArray
    weights: str
    range: LinearRange | None
    tests: tuple[Test, ...]
    limits: Limits | None
    why_no_limits: str
    p_slope: float
    intercept_is_zero: bool
    level: float
    notes: tuple[str, ...]
    outlier: Outlier | None = None
    """The point furthest from the line by a named test; never left out by itself."""
    robust: RobustLine | None = None
    models: Models | None = None
    """Line, parabola, site-limited curve and logarithm over all levels, by AICc."""
    saturation: Saturation | None = None
    """The site-limited curve, where all levels together are bent and it is the better description."""
    unsure: UnsureLine | None = None
    """The line with errors in x, where those matter."""

    @property
    def bent(self) -> bool:
        """Whether all levels together are not a straight line."""
        return self.range is not None and not self.range.whole


def calibrate(
    x: ArrayLike,
    y: ArrayLike,
    *,
    weights: str = "none",
    blanks: ArrayLike | None = None,
    low_replicates: ArrayLike | None = None,
    u_x: ArrayLike | None = None,
    noise: Measured | None = None,
    readings: int = 1,
    level: float = 0.95,
    whole: bool = False,
) -> Calibration:
    """A calibration of currents ``y`` (n,) A at ``x`` (n,) mol/m³.

    The line is fitted over the linear range (all levels with ``whole``). Limits are given when the slope
    differs from zero at ``level`` and is known to a third. ``u_x`` (n,) are standard uncertainties of the levels:
    where they add more than a tenth of the scatter's variance, the line with errors in x stands beside.

    Raises MethodError for fewer than four points or three levels.

    Source: as the parts name them.
    """
    a, b = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    levels = np.unique(a)
    if a.size < 4 or levels.size < 3:
        raise MethodError(
            f"A calibration needs at least four points at three levels; there are {a.size} at {levels.size}."
        )
    notes: list[str] = []
    weighting = weights_for(a, b, weights)
    span, inside = _span(a, b, weighting.values, level, whole=whole, notes=notes)
    crooked = bool(notes)
    line = fit_line(a[inside], b[inside], weights=weighting.values[inside])
    w = weighting.values[inside]
    tests = (
        lack_of_fit(a[inside], b[inside], weights=w),
        mandel(a[inside], b[inside], weights=w),
        constant_scatter(line),
        runs(line.residuals[np.argsort(line.x, kind="stable")]),
    )
    p = _p(line.slope)
    found, why = _limits(line, tests, p, level, blanks, low_replicates, noise, readings, weighting.at_zero)
    if weighting.note:
        notes.append(weighting.note)
    zero = line.intercept.interval(level)
    outlier = _try(lambda: line_outlier(line, level=level))
    if outlier is not None and outlier.suspect:
        notes.append(
            f"the point at {line.x[outlier.index] * 1e3:.4g} µmol/L lies far from the line ({outlier.test} {outlier.statistic:.3g}, p = {outlier.p:.2g}); it is used unless a person rejects it"
        )
    models = _try(lambda: compare_models(a, b))
    bent = not span.whole if span is not None else crooked
    saturation = (
        _try(lambda: fit_saturation(a, b, level=level))
        if bent and models is not None and models.best == "site-limited"
        else None
    )
    if models is not None and (bent or models.best != "straight line"):
        notes.append(models.reason)
    return Calibration(
        line=line,
        x=read_only(a),
        y=read_only(b),
        used=read_only(inside.astype(float)),
        weights=weights,
        range=span,
        tests=tests,
        limits=found,
        why_no_limits=why,
        p_slope=p,
        intercept_is_zero=zero.low <= 0 <= zero.high,
        level=level,
        notes=tuple(notes),
        outlier=outlier,
        robust=_try(lambda: fit_robust_line(line.x, line.y, level=level)),
        models=models,
        saturation=saturation,
        unsure=_unsure(line, None if u_x is None else np.asarray(u_x, dtype=np.float64)[inside]),
    )


def _try(make: Callable[[], T]) -> T | None:
    """A part that some data do not allow."""
    try:
        return make()
    except MethodError:
        return None


def _unsure(line: Line, u_x: FloatArray | None) -> UnsureLine | None:
    if u_x is None or not line.residual_sd > 0 or not x_matters(line.slope.value, u_x, line.residual_sd):
        return None
    return _try(lambda: fit_unsure_line(line.x, line.y, u_x, line.residual_sd))


def _span(
    a: FloatArray, b: FloatArray, w: FloatArray, level: float, *, whole: bool, notes: list[str]
) -> tuple[LinearRange | None, FloatArray]:
    everything = np.ones(a.size, dtype=bool)
    if np.unique(a).size < 6:
        return None, everything
    try:
        span = linear_range(a, b, weights=w, level=level)
    except MethodError as error:
        notes.append(f"{error} The line is drawn through all levels.")
        return None, everything
    if whole:
        return span, everything
    if not span.whole:
        notes.append("the line rests on the linear range only")
    return span, np.array(span.inside, dtype=bool)


def _p(slope: Measured) -> float:
    from scipy import special

    if slope.u == 0:
        return 0.0
    t = abs(slope.value) / slope.u
    return float(2 * (special.ndtr(-t) if math.isinf(slope.df) else special.stdtr(slope.df, -t)))


def _limits(
    line: Line,
    tests: tuple[Test, ...],
    p: float,
    level: float,
    blanks: ArrayLike | None,
    low: ArrayLike | None,
    noise: Measured | None,
    readings: int,
    at_zero: float,
) -> tuple[Limits | None, str]:
    if p >= 1 - level:
        return (
            None,
            f"the slope is not different from zero at {percent(level)} (p = {p:.2g}), so nothing can be detected with it",
        )
    wide = coverage_factor(level, line.df) * line.slope.u / abs(line.slope.value)
    if wide > 1 / 3:
        return None, f"the slope is known to ± {percent(wide)} only; a detection limit needs it to a third"
    by_name = {t.name: t for t in tests}
    fails = []
    if not (by_name["lack of fit"].passes(level) and by_name["Mandel"].passes(level)):
        fails.append("line")
    if by_name["constant scatter"].p < 1 - level:
        fails.append("scatter")
    if wide > 0.2:
        fails.append("slope")
    above = line.x[line.x > 0]
    rough = 3.3 * line.residual_sd / abs(line.slope.value)
    if above.size == 0 or float(above.min()) > 5 * rough:
        fails.append("low")
    try:
        found = limits(
            line,
            blanks=blanks,
            low_replicates=low,
            noise=noise,
            readings=readings,
            level=level,
            weight_at_zero=at_zero,
            fails=tuple(fails),
        )
        return found, ""
    except MethodError as error:
        return None, str(error)


def band(calibration: Calibration, x: ArrayLike) -> FloatArray:
    """Rows (3, n) of the line at ``x`` (n,): value, half-width of its confidence and of its prediction band."""
    at = np.asarray(x, dtype=np.float64)
    line = calibration.line
    value = line.intercept.value + line.slope.value * at
    return read_only(
        np.vstack(
            [
                value,
                line.confidence(at, level=calibration.level),
                line.prediction(at, level=calibration.level),
            ]
        )
    )
