"""Two or more means without assuming equal variances.

Sources: Welch 1947, Biometrika 34:28 (two means); Welch 1951, Biometrika 38:330 (several);
both from memory, checked against general libraries and published results.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Interval, Measured
from halfcell.statistics.groups import as_groups, moments, need_scatter
from halfcell.statistics.welch_size import corrected_p, family_alpha

if TYPE_CHECKING:
    from numpy.typing import ArrayLike


@dataclass(frozen=True, slots=True, kw_only=True)
class WelchT:
    """The difference of two means (first − second) and its test.

    ``p`` is the nominal two-sided p value; ``n`` are the two numbers of values.
    """

    difference: Measured
    t: float
    p: float
    n: tuple[int, int]

    @property
    def p_held(self) -> float:
        """The p value that holds its size at every ratio of variances (see ``welch_size``)."""
        return corrected_p(self.p, *self.n)

    def interval(self, level: float = 0.95, *, held: bool = True) -> Interval:
        """Interval of the difference; ``held`` keeps its coverage at every ratio of variances."""
        from scipy import special

        alpha = family_alpha(1 - level, self.n) if held else 1 - level
        half = -float(special.stdtrit(self.difference.df, alpha / 2)) * self.difference.u
        value = self.difference.value
        return Interval(low=value - half, high=value + half, level=level, method="Welch's t")


def welch_t(first: ArrayLike, second: ArrayLike) -> WelchT:
    """Welch's t test of two groups, (n,) arrays of 2 or more values.

    Raises MethodError for smaller groups and when neither has any scatter.

    >>> round(welch_t([1.0, 2.0, 3.0], [2.0, 4.0, 6.0]).t, 4)
    -1.5492
    """
    from scipy import special

    groups = as_groups([first, second])
    n, means, variances = moments(groups)
    need_scatter(variances)
    parts = variances / n
    total = float(parts.sum())
    df = total**2 / float(np.sum(parts**2 / (n - 1)))
    t = float(means[0] - means[1]) / math.sqrt(total)
    p = 2 * float(special.stdtr(df, -abs(t)))
    return WelchT(
        difference=Measured(value=float(means[0] - means[1]), u=math.sqrt(total), df=df),
        t=t,
        p=p,
        n=(len(groups[0]), len(groups[1])),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class WelchAnova:
    """Welch's F for the equality of several means."""

    f: float
    df1: float
    df2: float
    p: float


def welch_anova(groups: Sequence[ArrayLike]) -> WelchAnova:
    """Welch's test that several means are equal, variances free.

    Each group, an (n,) array, needs 2 or more values and some scatter; raises MethodError otherwise. With 3–4
    values a group and four or more groups its true size is 6–10 % at a nominal 5 % when
    variances differ (docs/choosing.md), so it is shown beside the pairwise result, not before it.
    """
    from scipy import special

    x = as_groups(groups, few=2)
    n, means, variances = moments(x)
    if np.any(variances == 0):
        raise MethodError(
            f"Group {int(np.argmin(variances)) + 1} has no scatter; Welch's test weights by 1/variance."
        )
    k = len(x)
    w = n / variances
    share = w / w.sum()
    centre = float(np.sum(share * means))
    lam = float(np.sum((1 - share) ** 2 / (n - 1)))
    above = float(np.sum(w * (means - centre) ** 2)) / (k - 1)
    f = above / (1 + 2 * (k - 2) / (k * k - 1) * lam)
    df2 = (k * k - 1) / (3 * lam)
    return WelchAnova(f=f, df1=k - 1, df2=df2, p=float(special.fdtrc(k - 1, df2, f)))
