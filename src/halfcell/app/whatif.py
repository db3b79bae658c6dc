"""Another weight, limit or confidence: the choice again, from the table that is there."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from halfcell.errors import StudyError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from halfcell.choice.choose import Choice
    from halfcell.choice.criteria import Criteria
    from halfcell.pipeline import Analysis
    from halfcell.study import Study


def tried(analysis: Analysis, weights: Sequence[float], limits: Mapping[int, float], level: float) -> Choice:
    """The choice with other weights (in the order of the wants), limits (number of the must, from 0,
    to its limit in the finding's unit) and confidence. Nothing is measured again.

    Raises StudyError where the study has no criteria, or for numbers that fit none of them.
    """
    from halfcell.choice.choose import choose
    from halfcell.pipeline.decides.criteria import criteria_of

    file = analysis.study.file
    criteria = criteria_of(file.choice)
    if not criteria.wants and not criteria.musts:
        raise StudyError("The study states no criteria yet: [choice] in study.toml.")
    if len(weights) != len(criteria.wants) or any(not 0 <= w <= 100 for w in weights):
        raise StudyError(f"There are {len(criteria.wants)} wants; each takes a weight from 0 to 100.")
    if weights and not any(weights):
        raise StudyError("At least one weight is above zero.")
    if not 0.5 < level < 0.9999:
        raise StudyError("A confidence level lies between 0.5 and 1, such as 0.95.")
    wants = tuple(replace(w, weight=float(v)) for w, v in zip(criteria.wants, weights, strict=True))
    return choose(
        analysis.findings,
        replace(_limited(criteria, limits), wants=wants),
        by=file.group_by,
        level=level,
        count=file.choice.draws,
        seed=file.analysis.seed,
    )


def _limited(criteria: Criteria, limits: Mapping[int, float]) -> Criteria:
    musts = list(criteria.musts)
    for i, value in limits.items():
        if not 0 <= i < len(musts) or musts[i].equals is not None:
            raise StudyError(f"Must {i + 1} has no limit that could be changed.")
        must = musts[i]
        upper = must.at_most is not None
        musts[i] = replace(must, at_most=float(value)) if upper else replace(must, at_least=float(value))
    return replace(criteria, musts=tuple(musts))


def as_data(choice: Choice) -> dict[str, Any]:
    """What the page shows of a choice."""
    from halfcell.choice.explanation import explain
    from halfcell.pipeline.decides.tables import choice_json

    told = choice_json(choice)
    told["explanation"] = [claim.text for claim in explain(choice)]
    return told


def sliders(study: Study) -> dict[str, Any]:
    """The weights, limits and confidence as the study states them; ``about`` tells what each is of."""
    from halfcell.pipeline.decides.criteria import criteria_of

    criteria = criteria_of(study.file.choice)
    limits = [
        {
            "number": i,
            "label": m.label,
            "about": f"{m.finding} {m.condition or ''} {'at most' if m.at_most is not None else 'at least'} {m.unit}",
            "unit": m.unit,
            "limit": m.at_most if m.at_most is not None else m.at_least,
        }
        for i, m in enumerate(criteria.musts)
        if m.equals is None
    ]
    wants = [{"label": w.label, "aim": w.aim, "weight": w.weight} for w in criteria.wants]
    about = [f"{w.label} {w.aim}" for w in criteria.wants]
    about += [f"{limit['number']} {limit['about']}" for limit in limits]
    return {"wants": wants, "limits": limits, "level": study.file.analysis.confidence, "about": about}
