"""What to measure to be surer of the choice."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from halfcell.choice.criteria import Want
from halfcell.choice.draws import draw
from halfcell.choice.estimates import Estimate
from halfcell.choice.ranking import Ranked, stand
from halfcell.results import Measured

_STEPS = (1, 2, 3, 4, 6, 8, 12, 17, 27, 47, 97)
"""Further electrodes a candidate that are tried."""
_COUNT = 1500


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """``more`` electrodes each of ``candidates`` would bring the leader's probability to ``reached``.

    Were means and scatter to stay as they are. ``more`` None: not with 97 more each. ``weighs`` is the
    want whose uncertainty matters most between the two, ``share`` its share.
    """

    candidates: tuple[str, ...]
    more: int | None
    reached: float
    weighs: str
    share: float


def advise(
    table: Sequence[Sequence[Estimate]],
    wants: Sequence[Want],
    keys: Sequence[int],
    ranked: Sequence[Ranked],
    level: float,
    count: int,
    seed: int,
) -> Advice | None:
    """The number of further electrodes of leader and runner-up that would decide between them."""
    if len(ranked) < 2:
        return None
    names = [row[0].candidate for row in table]
    order = {r.candidate: i for i, r in enumerate(ranked)}
    pair = sorted(
        (row for row in table if order[row[0].candidate] < 2), key=lambda row: order[row[0].candidate]
    )
    count = min(count, _COUNT)
    weighs, share = _weighs(pair, wants, keys, count, seed)
    base: dict[str, Any] = {
        "candidates": tuple(row[0].candidate for row in pair),
        "weighs": weighs,
        "share": share,
    }
    reached = _chance([list(row) for row in pair], wants, keys, count, seed)
    if reached >= level or any(n not in order for n in names):
        return Advice(**base, more=0, reached=reached)
    for more in _STEPS:
        reached = _chance([[_with_more(e, more) for e in row] for row in pair], wants, keys, count, seed)
        if reached >= level:
            return Advice(**base, more=more, reached=reached)
    return Advice(**base, more=None, reached=reached)


def _chance(
    pair: Sequence[Sequence[Estimate]], wants: Sequence[Want], keys: Sequence[int], count: int, seed: int
) -> float:
    standing = stand(draw(pair, count, seed), wants, keys, [])
    return float(standing.winner[:, 0].mean())


def _with_more(estimate: Estimate, more: int) -> Estimate:
    """The estimate as it would be with further electrodes, mean and scatter unchanged."""
    n = max(estimate.n, 1)
    mean = estimate.mean
    u = mean.u * math.sqrt(n / (n + more))
    return replace(estimate, n=n + more, mean=Measured(value=mean.value, u=u, df=max(mean.df, 1) + more))


def _weighs(
    pair: Sequence[Sequence[Estimate]], wants: Sequence[Want], keys: Sequence[int], count: int, seed: int
) -> tuple[str, float]:
    """The want whose values, were they exact, would narrow the difference most."""

    def spread(exact: int | None) -> float:
        rows = [
            [
                replace(e, mean=replace(e.mean, u=0.0, df=math.inf)) if i == exact and e.n != 1 else e
                for i, e in enumerate(row)
            ]
            for row in pair
        ]
        scores = stand(draw(rows, count, seed), wants, keys, []).scores
        return float((scores[:, 0] - scores[:, 1]).var())

    whole = spread(None)
    if whole <= 0:
        return wants[0].label, math.nan
    gains = {w.label: 1 - spread(c) / whole for w, c in zip(wants, keys, strict=True) if w.weight > 0}
    if not gains:
        return wants[0].label, math.nan
    best = max(gains, key=lambda label: gains[label])
    return best, max(0.0, gains[best])
