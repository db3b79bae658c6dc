"""The sensitivities of several electrodes: their mean, and the scatter between them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Interval, Measured
from halfcell.statistics.noncentral import sd_interval, symmetric_u
from halfcell.statistics.variance_components import difference_interval

if TYPE_CHECKING:
    from collections.abc import Sequence


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Across:
    """``mean`` of the slopes with the scatter between electrodes in its uncertainty (m − 1 degrees of freedom).

    ``between`` is the standard deviation between electrodes with what the fits explain taken out (never
    below zero), ``rsd`` the same over the mean, with its interval.
    """

    mean: Measured
    between: float
    rsd: Measured
    rsd_interval: Interval
    electrodes: int


def across_electrodes(slopes: Sequence[Measured], *, level: float = 0.95) -> Across:
    """Mean and scatter of the slopes of m electrodes, each with its standard uncertainty.

    The mean's interval is Student's with m − 1 degrees of freedom: it holds its level for normal slopes,
    however few the electrodes, where a mixed model's usual interval does not (docs/coverage.md).

    Raises MethodError for fewer than two electrodes or a mean of zero.

    Source: two-stage analysis of random slopes (common practice, no source); the scatter's interval is that of
    a difference of mean squares (Ting et al. 1990, from memory).
    """
    values = np.array([s.value for s in slopes], dtype=np.float64)
    m = values.size
    if m < 2:
        raise MethodError(f"Scatter between electrodes needs at least two of them; there is {m}.")
    mean = float(values.mean())
    if mean == 0:
        raise MethodError("The mean slope is zero.")
    observed = float(values.std(ddof=1))
    inner = float(np.mean([s.u**2 for s in slopes]))
    between = math.sqrt(max(observed**2 - inner, 0.0))
    inner_df = sum(s.df for s in slopes if math.isfinite(s.df))
    if inner > 0 and inner_df > 0:
        variance = difference_interval(observed**2, m - 1, inner, int(inner_df), level=level)
        low, high = (math.sqrt(max(v, 0.0)) / abs(mean) for v in (variance.low, variance.high))
        interval = Interval(low=low, high=high, level=level, method=variance.method)
    else:
        seen = sd_interval(observed, m - 1, level=level)
        interval = Interval(
            low=seen.low / abs(mean), high=seen.high / abs(mean), level=level, method=seen.method
        )
    seen = sd_interval(observed / abs(mean), m - 1, level=level)
    u = symmetric_u(observed / abs(mean), seen, m - 1)
    return Across(
        mean=Measured(value=mean, u=observed / math.sqrt(m), df=m - 1),
        between=between,
        rsd=Measured(value=between / abs(mean), u=u, df=m - 1),
        rsd_interval=interval,
        electrodes=m,
    )
