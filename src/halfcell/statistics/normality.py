"""How far values within groups look like normal ones: shown, not decreed.

Source: Shapiro & Wilk 1965, Biometrika 52:591 (computed by scipy.stats); plotting
positions of Blom 1958 (both from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import read_only
from halfcell.statistics.groups import as_groups

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Normality:
    """Residuals from their group's mean in units of its scatter, against normal quantiles.

    ``residuals`` and ``quantiles`` are sorted (n,) arrays. ``p`` is Shapiro and Wilk's for the
    residuals taken together; residuals of small groups are bounded by (n − 1)/√n, so it is a rough guide.
    """

    residuals: FloatArray
    quantiles: FloatArray
    w: float
    p: float


def normality(groups: Sequence[ArrayLike]) -> Normality:
    """Standardised residuals of all groups, (n,) arrays, together. Raises MethodError for fewer than 3 of them."""
    from scipy import special, stats

    x = [g for g in as_groups(groups, least=1) if len(g) > 1 and np.ptp(g) > 0]
    residuals = np.sort(np.concatenate([(g - g.mean()) / g.std(ddof=1) for g in x])) if x else np.array([])
    n = len(residuals)
    if n < 3:
        raise MethodError(f"{n} values with scatter are too few to look at their distribution; 3 are needed.")
    quantiles = special.ndtri((np.arange(1, n + 1) - 0.375) / (n + 0.25))
    result = stats.shapiro(residuals)
    return Normality(
        residuals=read_only(residuals),
        quantiles=read_only(quantiles),
        w=float(result.statistic),
        p=float(result.pvalue),
    )
