"""Whether groups scatter alike.

Sources: Levene 1960; Brown & Forsythe 1974, J. Am. Stat. Assoc. 69:364; Bartlett 1937 (from
memory; checked against scipy and R's published output for PlantGrowth).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.statistics.groups import as_groups, need_scatter
from halfcell.statistics.groups_anova import one_way

if TYPE_CHECKING:
    from numpy.typing import ArrayLike


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadTest:
    """A test of equal variances; ``ratio`` is the largest standard deviation over the smallest."""

    method: str
    statistic: float
    p: float
    ratio: float


def equal_spread(groups: Sequence[ArrayLike], *, centre: str = "median") -> SpreadTest:
    """Brown and Forsythe's test (``centre="median"``) or Levene's (``"mean"``).

    Groups are (n,) arrays. Absolute deviations from each group's centre, put through one-way analysis of variance. With
    three values a group it sees only very unequal variances. Raises MethodError for groups of
    one value and where nothing scatters.
    """
    x = as_groups(groups, few=2)
    need_scatter(np.array([np.var(g) for g in x]))
    middle = np.median if centre == "median" else np.mean
    table = one_way([np.abs(g - middle(g)) for g in x])
    s = np.array([np.std(g, ddof=1) for g in x])
    name = "Brown and Forsythe" if centre == "median" else "Levene"
    ratio = float(s.max() / s.min()) if s.min() > 0 else float("inf")
    return SpreadTest(method=name, statistic=table.f, p=table.p, ratio=ratio)
