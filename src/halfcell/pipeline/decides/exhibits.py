"""What the figures of comparison and choice draw."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.choice.address import subject
from halfcell.choice.criteria import label_of
from halfcell.pipeline.outcome import Exhibit

if TYPE_CHECKING:
    from halfcell.choice.choose import Choice
    from halfcell.comparison.compare import Comparison


def exhibits_of(comparisons: Sequence[Comparison], choice: Choice | None) -> tuple[Exhibit, ...]:
    """One exhibit a comparison; the ranking, its parts and the weights for the choice."""
    made = [_compared(c, choice) for c in comparisons]
    if choice is not None and choice.ranked:
        made.append(_ranking(choice))
        if any(not m.fixed for m in choice.weights):
            made.append(_weights(choice))
    return tuple(made)


def _compared(c: Comparison, choice: Choice | None) -> Exhibit:
    groups = (*c.groups, *c.apart)
    data: dict[str, Any] = {
        "label": label_of(c.finding, c.condition),
        "unit": c.unit,
        "level": c.level,
        "names": [g.name for g in groups],
        "tested": [g in c.groups for g in groups],
        "means": np.array([g.mean.value for g in groups]),
        "lows": np.array([g.interval.low for g in groups]),
        "highs": np.array([g.interval.high for g in groups]),
        "letters": [g.letters for g in groups],
        "values": {g.name: g.group.values for g in groups},
        "parts": {g.name: [s.parts for s in g.group.samples] for g in groups},
        "pairs": [p.name for p in c.pairs],
        "differences": np.array([p.difference.value for p in c.pairs]),
        "difference_lows": np.array([p.interval.low for p in c.pairs]),
        "difference_highs": np.array([p.interval.high for p in c.pairs]),
        "different": [p.different for p in c.pairs],
        "margins": np.array([np.nan if p.margin is None else p.margin for p in c.pairs]),
    }
    limits = _limits(c, choice)
    if limits:
        data["limits"] = np.array(limits)
    if c.normality is not None:
        data |= {
            "residuals": c.normality.residuals,
            "quantiles": c.normality.quantiles,
            "p_normal": c.normality.p,
        }
    about = subject(c.finding, c.condition)
    files = tuple(dict.fromkeys(r for g in groups for s in g.group.samples for r in s.recordings))
    return Exhibit(
        kind="comparison",
        key=f"comparison | {about} | {c.by}",
        title=f"{label_of(c.finding, c.condition)} by {c.by}",
        place="Compares",
        condition=about,
        recordings=files,
        data=data,
    )


def _limits(c: Comparison, choice: Choice | None) -> list[float]:
    if choice is None:
        return []
    found = [
        m for m in choice.criteria.musts if m.finding == c.finding and (m.condition or "") == c.condition
    ]
    return [v for m in found for v in (m.at_least, m.at_most) if v is not None]


def _ranking(choice: Choice) -> Exhibit:
    ranked = choice.ranked
    return Exhibit(
        kind="ranking",
        key="ranking",
        title="Desirability of the candidates that no must eliminates",
        place="Chooses",
        data={
            "names": [r.candidate for r in ranked],
            "desirability": np.array([r.desirability.value for r in ranked]),
            "lows": np.array([r.interval.low for r in ranked]),
            "highs": np.array([r.interval.high for r in ranked]),
            "best": np.array([r.best for r in ranked]),
            "wants": [w.label for w in choice.criteria.wants],
            "weights": np.array([w.weight for w in choice.criteria.wants]),
            "parts": np.array([r.parts for r in ranked]),
            "level": choice.level,
        },
    )


def _weights(choice: Choice) -> Exhibit:
    """Desirability of each candidate as one weight moves, for every want whose weight can change the lead."""
    from halfcell.choice.desirability import together

    wants = choice.criteria.wants
    panels = []
    for i, move in enumerate(choice.weights):
        if move.fixed:
            continue
        reach = 1.25 * max(v for v in (move.want.weight, move.down or 0.0, move.up or 0.0, 1.0))
        x = np.linspace(0.0, reach, 101)
        curves = []
        for r in choice.ranked:
            weights = [[float(v) if j == i else w.weight for j, w in enumerate(wants)] for v in x]
            curves.append(np.array([float(together(r.parts, w)) for w in weights]))
        turning = [v for v in (move.down, move.up) if v is not None]
        panels.append(
            {
                "want": move.want.label,
                "now": move.want.weight,
                "weights": x,
                "curves": np.array(curves),
                "turning": np.array(turning),
            }
        )
    return Exhibit(
        kind="weights",
        key="weights",
        title="How the ranking hangs on the weights",
        place="Chooses",
        data={"names": [r.candidate for r in choice.ranked], "panels": panels},
    )
