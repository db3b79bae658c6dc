"""Reading a sample from a calibration, and recovering what was added to it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Interval, Measured

if TYPE_CHECKING:
    from halfcell.statistics.line import Line


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Content:
    """What a sample holds by a calibration line.

    ``content`` mol/m³ with the first-order uncertainty, ``interval`` exact (Fieller); ``simple`` says that the
    first-order interval agrees with it (g < 0.05). ``verdict`` is "read", "below the decision limit",
    "below the lowest level" or "above the highest level".
    """

    content: Measured
    interval: Interval
    simple: bool
    readings: int
    verdict: str


def read_content(
    line: Line, signals: Sequence[float], *, decision_limit: float = math.nan, level: float = 0.95
) -> Content:
    """The content behind the readings ``signals`` (k,) A of one sample, all made as the calibration was.

    The mean of the readings has the line's residual scatter over √k. A content outside the levels of the
    line is extrapolated and says so in its verdict.

    Raises MethodError for no reading, or a content above 1.2 times the highest level: dilute the sample.

    Source: Fieller, J. R. Stat. Soc. B 16 (1954) 175; Miller and Miller, ch. 5 (seen: fluorescein).
    """
    if not signals:
        raise MethodError("There is no reading of the sample.")
    y = np.asarray(signals, dtype=np.float64)
    found = line.inverse(float(y.mean()), replicates=y.size, level=level)
    low, high = float(line.x.min()), float(line.x.max())
    if found.x.value > high + 0.2 * (high - low):
        raise MethodError(
            f"The sample reads {found.x.value * 1e3:.4g} µmol/L, beyond the highest level calibrated ({high * 1e3:.4g} µmol/L): dilute it and measure again."
        )
    if math.isfinite(decision_limit) and found.x.value < decision_limit:
        verdict = "below the decision limit"
    elif found.x.value > high:
        verdict = "above the highest level"
    elif found.x.value < low:
        verdict = "below the lowest level"
    else:
        verdict = "read"
    return Content(
        content=found.x, interval=found.interval, simple=found.g < 0.05, readings=int(y.size), verdict=verdict
    )


def recovery(
    without: Measured, with_spike: Measured, added: Measured, *, shared: float = 0.0, level: float = 0.95
) -> Measured:
    """(found with the spike − found without) over ``added``, with first-order uncertainty.

    ``shared`` is the covariance of the two contents (they come from one line). Raises MethodError when
    nothing was added.

    Source: common practice, no source; uncertainty by JCGM 100:2008, clause 5.
    """
    if not added.value > 0:
        raise MethodError(f"A recovery needs an amount added; it is {added.value:g}.")
    rise = with_spike.value - without.value
    u_rise = math.sqrt(max(with_spike.u**2 + without.u**2 - 2 * shared, 0.0))
    value = rise / added.value
    u = math.hypot(u_rise / added.value, value * added.u / added.value)
    return Measured(value=value, u=u, df=min(with_spike.df, without.df))
