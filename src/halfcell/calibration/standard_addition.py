"""A sample's own calibration: known amounts are added to it, and the line is carried back to no signal."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Interval, Measured
from halfcell.statistics.line import Line, fit_line

if TYPE_CHECKING:
    from numpy.typing import ArrayLike


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StandardAddition:
    """``content`` mol/m³ of the sample as measured (before any additions), its exact interval, and the line.

    ``line`` is of volume-corrected signals against the level added.
    """

    content: Measured
    interval: Interval
    line: Line


def standard_addition(
    added: ArrayLike,
    signals: ArrayLike,
    *,
    background: Measured | None = None,
    volumes: ArrayLike | None = None,
    level: float = 0.95,
) -> StandardAddition:
    """The content of a sample from signals (n,) A after ``added`` (n,) mol/m³ (in the volume of the sample).

    ``background`` is the signal without analyte, taken off. With ``volumes`` (n,), the volume of solution at each
    reading over that before the additions, signals are multiplied by it, so that ``added`` is the amount
    added over the first volume. The content is the intercept over the slope, with Fieller's interval.

    Raises MethodError for fewer than four readings at three levels, or a slope that is not different from zero.

    Source: Miller and Miller, Statistics and Chemometrics for Analytical Chemistry, ch. 5 (from memory);
    the extrapolated x and its first-order standard error are theirs, the interval is Fieller's.
    """
    x, y = np.asarray(added, dtype=np.float64), np.asarray(signals, dtype=np.float64)
    if x.size < 4 or np.unique(x).size < 3:
        raise MethodError(
            f"A standard addition needs four readings at three levels; there are {x.size} at {np.unique(x).size}."
        )
    if background is not None:
        y = y - background.value
    if volumes is not None:
        y = y * np.asarray(volumes, dtype=np.float64)
    line = fit_line(x, y)
    from halfcell.statistics.ratios import ratio

    top = line.intercept
    if background is not None and background.u > 0:
        top = Measured(value=top.value, u=float(np.hypot(top.u, background.u)), df=top.df)
    found = ratio(top, line.slope, covariance=line.covariance, level=level)
    if found.kind != "bounded":
        raise MethodError(
            "The slope of the additions is not different from zero: the content cannot be read from them."
        )
    return StandardAddition(content=found.ratio, interval=found.interval, line=line)
