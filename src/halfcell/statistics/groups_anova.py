"""One-way analysis of variance with equal variances.

Fisher's F; the classical table. Checked against the NIST StRD sets for analysis of variance.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.statistics.groups import as_groups

if TYPE_CHECKING:
    from numpy.typing import ArrayLike


@dataclass(frozen=True, slots=True, kw_only=True)
class AnovaTable:
    """Sums of squares between and within groups and their ratio.

    ``residual_s`` is the pooled standard deviation, ``r_squared`` the share between groups.
    """

    between: float
    within: float
    df_between: int
    df_within: int
    f: float
    p: float
    r_squared: float
    residual_s: float


def one_way(groups: Sequence[ArrayLike]) -> AnovaTable:
    """One-way analysis of variance of two or more groups, equal variances assumed.

    Sums of squares are taken about the grand mean after subtracting the first value, so that
    numbers with many leading digits in common (NIST SmLs07–09) keep what the arithmetic allows.
    Groups are (n,) arrays. Raises MethodError where they are too few or small or hold no scatter.

    Source: any textbook; held to the reference sets of NIST.
    """
    x = as_groups(groups, least=1, few=2)
    total = sum(len(g) for g in x)
    df1, df2 = len(x) - 1, total - len(x)
    if df2 < 1:
        raise MethodError(f"{total} values in {len(x)} groups leave no degrees of freedom for the scatter.")
    shift = x[0][0]
    y = [g - shift for g in x]
    means = [math.fsum(g) / len(g) for g in y]
    grand = math.fsum(v for g in y for v in g) / total
    between = math.fsum(len(g) * (m - grand) ** 2 for g, m in zip(y, means, strict=True))
    within = math.fsum(float((v - m) ** 2) for g, m in zip(y, means, strict=True) for v in g)
    if within == 0:
        raise MethodError(
            "No group has any scatter (all values in each are equal), so nothing can be tested."
        )
    from scipy import special

    f = (between / df1) / (within / df2)
    return AnovaTable(
        between=between,
        within=within,
        df_between=df1,
        df_within=df2,
        f=f,
        p=float(special.fdtrc(df1, df2, f)),
        r_squared=between / (between + within),
        residual_s=float(np.sqrt(within / df2)),
    )
