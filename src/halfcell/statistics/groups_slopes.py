"""Slopes of groups of electrodes compared directly.

Every electrode has its own intercept; its slope is its group's slope plus a random part. The
difference of two groups' slopes is an interaction of this mixed model (see ``groups_mixed``).
With the same levels on every electrode this is the comparison of the electrodes' own slopes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Measured, coverage_factor, read_only
from halfcell.statistics.families import Pair, Pairwise, family
from halfcell.statistics.groups_mixed import MixedFit, mixed_columns
from halfcell.statistics.welch_size import every_pair

if TYPE_CHECKING:
    from numpy.typing import ArrayLike


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Slopes:
    """The slope of each group, and all pairs. ``between`` is the standard deviation between electrodes."""

    names: tuple[str, ...]
    slopes: tuple[Measured, ...]
    pairs: Pairwise
    between: float
    residual: float


def compare_slopes(
    x: ArrayLike, y: ArrayLike, electrode: Sequence[str], group: Sequence[str], level: float = 0.95
) -> Slopes:
    """Slopes of y against x by group, electrodes as random.

    All four are (n,) arrays or sequences, one entry a point. Raises MethodError where the lengths differ, an electrode is in two
    groups, or a group has fewer than two electrodes with two levels each.
    """
    xs, ys = read_only(x), read_only(y)
    if not len(xs) == len(ys) == len(electrode) == len(group):
        raise MethodError(
            f"x, y, electrode and group have {len(xs)}, {len(ys)}, {len(electrode)} and {len(group)} entries; one a point is needed."
        )
    names = tuple(dict.fromkeys(group))
    homes = dict(zip(electrode, group, strict=True))
    if any(homes[e] != g for e, g in zip(electrode, group, strict=True)):
        raise MethodError("An electrode is in two groups.")
    for name in names:
        if sum(g == name for g in homes.values()) < 2:
            raise MethodError(f"Group {name!r} has one electrode; the scatter of its slope is unknown.")
    who = np.array([[float(e == one) for one in homes] for e in electrode])
    if any(np.ptp(xs[column > 0]) == 0 for column in who.T):
        raise MethodError("An electrode has one level only, so it has no slope.")
    scale = float(np.abs(xs).max())
    which = np.array([[float(g == name) for name in names] for g in group])
    fit = mixed_columns(ys, np.hstack([who, which * xs[:, None] / scale]), who * xs[:, None] / scale)
    return _told(fit, names, len(homes), scale, level)


def _told(fit: MixedFit, names: tuple[str, ...], electrodes: int, scale: float, level: float) -> Slopes:
    k = len(names)
    m = len(every_pair(k))

    def weights(i: int, j: int | None = None) -> list[float]:
        row = [0.0] * (electrodes + k)
        row[electrodes + i] = 1.0
        if j is not None:
            row[electrodes + j] = -1.0
        return row

    def one(i: int, j: int) -> Pair:
        from scipy import special

        gap = fit.contrast(weights(i, j)).times(1 / scale)
        half = coverage_factor(1 - (1 - level) / m, gap.df) * gap.u
        p = min(1.0, 2 * m * float(special.stdtr(gap.df, -abs(gap.value) / gap.u)))
        return Pair(
            first=i,
            second=j,
            difference=gap,
            p=p,
            low=gap.value - half,
            high=gap.value + half,
            different=abs(gap.value) > half,
        )

    return Slopes(
        names=names,
        slopes=tuple(fit.contrast(weights(i)).times(1 / scale) for i in range(k)),
        pairs=family(k, "interaction in a mixed model, Bonferroni", level, one),
        between=float(np.sqrt(fit.random_variance)) / scale,
        residual=float(np.sqrt(fit.residual_variance)),
    )
