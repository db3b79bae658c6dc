"""How far a weight must move before another candidate leads; what each must decides."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from halfcell.choice.criteria import Want
from halfcell.choice.musts import FAILED, MustResult
from halfcell.choice.ranking import Ranked


@dataclass(frozen=True, slots=True, kw_only=True)
class WeightMove:
    """One want's weight: ``down`` and ``up`` are the nearest values at which the lead changes.

    ``down_to`` and ``up_to`` then lead; None and "" where no weight changes it.
    """

    want: Want
    down: float | None = None
    down_to: str = ""
    up: float | None = None
    up_to: str = ""

    @property
    def fixed(self) -> bool:
        """Whether the leader stays for every weight of this want."""
        return self.down is None and self.up is None


@dataclass(frozen=True, slots=True, kw_only=True)
class Dropped:
    """A must left out: who was eliminated by it alone, and who would lead."""

    must: str
    frees: tuple[str, ...]
    leader: str
    changes: bool


def weight_moves(ranked: Sequence[Ranked], wants: Sequence[Want]) -> tuple[WeightMove, ...]:
    """For each want, the exact weights at which the lead passes on, the other weights kept.

    ln D is linear in the weights once they are not normalised, so that the crossing of two candidates
    is the root of a linear equation.
    """
    if len(ranked) < 2:
        return tuple(WeightMove(want=w) for w in wants)
    return tuple(_move(ranked, wants, i) for i in range(len(wants)))


def _move(ranked: Sequence[Ranked], wants: Sequence[Want], i: int) -> WeightMove:
    leader, weight = ranked[0], wants[i].weight
    down: tuple[float, str] | None = None
    up: tuple[float, str] | None = None
    for other in ranked[1:]:
        slope = _gap(leader.parts[i], other.parts[i])
        rest = sum(
            w.weight * _gap(leader.parts[j], other.parts[j])
            for j, w in enumerate(wants)
            if j != i and w.weight > 0
        )
        if not (math.isfinite(slope) and math.isfinite(rest)) or slope == 0:
            continue
        crossing = -rest / slope
        if crossing < 0:
            continue
        if slope > 0 and crossing <= weight and (down is None or crossing > down[0]):
            down = (crossing, other.candidate)
        if slope < 0 and crossing >= weight and (up is None or crossing < up[0]):
            up = (crossing, other.candidate)
    return WeightMove(
        want=wants[i],
        down=down[0] if down else None,
        down_to=down[1] if down else "",
        up=up[0] if up else None,
        up_to=up[1] if up else "",
    )


def _gap(a: float, b: float) -> float:
    """ln a − ln b; 0 where both are 0."""
    if a == b:
        return 0.0
    if b == 0:
        return math.inf
    if a == 0:
        return -math.inf
    return math.log(a) - math.log(b)


def dropped_musts(
    results: Sequence[MustResult], labels: Sequence[str], scores: dict[str, float], leader: str
) -> tuple[Dropped, ...]:
    """For each must, the choice without it. ``scores`` holds every candidate's desirability (nan: none)."""
    out = []
    for label in labels:
        failed = {r.candidate for r in results if r.verdict == FAILED and r.must.label != label}
        alone = tuple(
            dict.fromkeys(
                r.candidate
                for r in results
                if r.verdict == FAILED and r.must.label == label and r.candidate not in failed
            )
        )
        left = {c: s for c, s in scores.items() if c not in failed and math.isfinite(s)}
        best = max(left, key=lambda c: left[c]) if left else ""
        out.append(Dropped(must=label, frees=alone, leader=best, changes=best != leader))
    return tuple(out)
