"""The slopes themselves compared, from the calibration points: an interaction in a mixed model."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.comparison.result import Alternative
from halfcell.errors import MethodError
from halfcell.statistics.groups_slopes import compare_slopes

if TYPE_CHECKING:
    from halfcell.comparison.samples import Group
    from halfcell.results import FloatArray

METHOD = "Interaction of slope and group in a mixed model of all points, Bonferroni"
NOTE = "all points at once with electrodes as random; it assumes that all groups scatter alike, and its family-wise error exceeds the stated one where they do not"
MOST = 600
"""Points of a model: the work grows with their cube."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Points:
    """Calibration points of several electrodes: ``x`` and ``y`` (n,) in any units, and the electrode of each."""

    x: FloatArray
    y: FloatArray
    electrode: tuple[str, ...]


def by_slopes(
    points: Points,
    groups: Sequence[Group],
    claims: frozenset[tuple[int, int]],
    level: float,
    place: int | None = None,
    *,
    batches: bool = False,
) -> Alternative:
    """The mixed model's claims beside ``claims``; not able, with the reason, where it cannot be fitted.

    ``place`` restricts the pairs to those with that group. With ``batches`` as independent values the
    model, which takes electrodes as independent, is refused.
    """
    if batches:
        return Alternative(
            method=METHOD,
            able=False,
            note="it takes electrodes as independent, and those of one batch are not",
        )
    names = [g.name for g in groups]
    home = {s.electrode: g.name for g in groups for s in g.samples}
    mine = [i for i, e in enumerate(points.electrode) if e in home]
    bare = sorted(set(home) - {points.electrode[i] for i in mine})
    if bare:
        note = f"there are no calibration points of {', '.join(bare[:3])}{' …' if len(bare) > 3 else ''}"
        return Alternative(method=METHOD, able=False, note=note)
    if len(mine) > MOST:
        note = f"{len(mine)} points are more than the {MOST} it is fitted to"
        return Alternative(method=METHOD, able=False, note=note)
    own = [points.electrode[i] for i in mine]
    try:
        found = compare_slopes(points.x[mine], points.y[mine], own, [home[e] for e in own], level)
    except (MethodError, np.linalg.LinAlgError) as error:
        return Alternative(method=METHOD, able=False, note=str(error).rstrip("."))
    at = [names.index(name) for name in found.names]
    seen = {tuple(sorted((at[i], at[j]))) for i, j in found.pairs.claims()}
    pairs = frozenset((i, j) for i, j in seen if place is None or place in (i, j))
    return Alternative(
        method=METHOD,
        adds=tuple(f"{names[i]} − {names[j]}" for i, j in sorted(pairs - claims)),
        takes=tuple(f"{names[i]} − {names[j]}" for i, j in sorted(claims - pairs)),
        note=NOTE,
    )
