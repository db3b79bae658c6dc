"""Which findings are compared between the groups of a study."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.choice.estimates import conditions_for
from halfcell.comparison.compare import Comparison, compare, compare_samples
from halfcell.comparison.factors import FactorComparison, compare_factors
from halfcell.comparison.samples import gather
from halfcell.comparison.slopes import Points
from halfcell.errors import HalfcellError, Problem
from halfcell.pipeline.decides.criteria import margin_of
from halfcell.pipeline.workers import Job

if TYPE_CHECKING:
    from collections.abc import Sequence

    from halfcell.finding import Findings
    from halfcell.pipeline.outcome import Exhibit
    from halfcell.pipeline.workers import Crew
    from halfcell.study.study import Study

USUAL = (
    "sensitivity",
    "sensitivity_per_area",
    "limit_of_detection",
    "false_concentration",
    "response_time",
    "double_layer_capacitance",
    "particle_diameter",
    "particle_density",
    "coverage",
    "size_spread",
)
"""Compared without being asked, where the study has them (common practice, no source)."""
_MOST = 8
"""Conditions of one finding that are compared; the rest on request."""


def comparisons(
    study: Study, findings: Findings, exhibits: Sequence[Exhibit] = (), crew: Crew | None = None
) -> tuple[tuple[Comparison, ...], tuple[Problem, ...]]:
    """A comparison for each finding and condition, and what could not be compared.

    With a ``crew`` a comparison is kept by the values it rests on, and several are made at once.
    """
    settings = study.file.comparison
    jobs: list[tuple[str, Job]] = []
    problems: list[Problem] = []
    for name in _names(study, findings):
        rows = [f for f in findings.named(name) if f.electrode]
        if not rows or all(f.text for f in rows):
            continue
        try:
            margin = margin_of(settings.margins[name], name) if name in settings.margins else None
            for condition in conditions_for(findings, name, None)[:_MOST]:
                inputs = {
                    "samples": gather(
                        findings, name, by=study.file.group_by, condition=condition, roles=("candidate",)
                    ),
                    "reference": settings.reference,
                    "margin": margin,
                    "level": study.file.analysis.confidence,
                    "unit": settings.independent,
                    "points": points_of(exhibits, name, condition),
                }
                jobs.append((name, Job(inputs=inputs, about=name)))
        except HalfcellError as error:
            problems.append(_not_compared(name, str(error)))
    todo = [job for _, job in jobs]
    made = (
        [try_samples(**job.inputs) for job in todo]
        if crew is None
        else crew.each(try_samples, todo, what="Comparing groups")
    )
    for (name, _), result in zip(jobs, made, strict=True):
        if isinstance(result, (Problem, Refused)):
            problems.append(_not_compared(name, result.what))
    return tuple(c for c in made if isinstance(c, Comparison)), tuple(dict.fromkeys(problems))


@dataclass(frozen=True, slots=True, kw_only=True)
class Refused:
    """A comparison that cannot be made, and why: kept as well, because it will be refused again."""

    what: str


def try_samples(**inputs: Any) -> Comparison | Refused:
    """The comparison of values already gathered, or why there is none."""
    try:
        return compare_samples(**inputs)
    except HalfcellError as error:
        return Refused(what=str(error))


def _not_compared(name: str, what: str) -> Problem:
    return Problem(file="study.toml", place=f"comparison, {name}", what=what, severity="warning")


def compared(
    study: Study,
    findings: Findings,
    name: str,
    *,
    by: str = "",
    condition: str = "",
    roles: tuple[str, ...] = (),
    reference: str = "",
    margin: str = "",
    exhibits: Sequence[Exhibit] = (),
) -> tuple[Comparison, ...]:
    """Comparisons as a person asks for them; what is left empty is as the study says.

    Raises HalfcellError for a finding, an attribute or a condition that the study does not have, with
    those it has.
    """
    if name not in findings.names():
        raise HalfcellError(
            f"This study has no finding {name!r}; it has {', '.join(findings.names()) or 'none'}."
        )
    known = dict.fromkeys(k for a in findings.attributes.values() for k in a)
    if by and by not in known:
        raise HalfcellError(
            f"No electrode has an attribute {by!r} to compare by; there are {', '.join(known)}."
        )
    stated = margin or study.file.comparison.margins.get(name, "")
    return tuple(
        compare(
            findings,
            name,
            by=by or study.file.group_by,
            condition=one,
            roles=roles or ("candidate",),
            reference=reference or study.file.comparison.reference,
            margin=margin_of(stated, name) if stated else None,
            level=study.file.analysis.confidence,
            unit=study.file.comparison.independent,
            points=points_of(exhibits, name, one),
        )
        for one in conditions_for(findings, name, condition or None)
    )


def compared_factors(
    study: Study,
    findings: Findings,
    name: str,
    by: tuple[str, ...],
    *,
    condition: str = "",
    roles: tuple[str, ...] = (),
) -> FactorComparison:
    """A finding by several attributes at once, as a person asks for it. Raises HalfcellError as ``compared``."""
    if name not in findings.names():
        raise HalfcellError(
            f"This study has no finding {name!r}; it has {', '.join(findings.names()) or 'none'}."
        )
    known = dict.fromkeys(k for a in findings.attributes.values() for k in a)
    for one in by:
        if one not in known:
            raise HalfcellError(
                f"No electrode has an attribute {one!r} to compare by; there are {', '.join(known)}."
            )
    conditions = conditions_for(findings, name, condition or None)
    if len(conditions) > 1:
        raise HalfcellError(
            f"{name!r} has several conditions; say which with --condition: {', '.join(map(repr, conditions[:6]))}."
        )
    return compare_factors(
        findings,
        name,
        by,
        condition=conditions[0],
        roles=roles or ("candidate", "control"),
        level=study.file.analysis.confidence,
    )


def points_of(exhibits: Sequence[Exhibit], name: str, condition: str) -> Points | None:
    """The calibration points of which the finding is the slope; None for any other finding or without points.

    Those of one condition ("" is the main calibration), without points set aside, cathodic currents
    taken as positive as in the sensitivity.
    """
    if name != "sensitivity":
        return None
    shown = [e for e in exhibits if e.kind == "calibration" and e.electrode and e.condition == condition]
    if not shown:
        return None
    used = [np.asarray(e.data["used"], dtype=bool) for e in shown]
    return Points(
        x=np.concatenate([np.asarray(e.data["x"])[u] for e, u in zip(shown, used, strict=True)]),
        y=np.concatenate(
            [
                e.data.get("direction", 1) * np.asarray(e.data["y"])[u]
                for e, u in zip(shown, used, strict=True)
            ]
        ),
        electrode=tuple(e.electrode for e, u in zip(shown, used, strict=True) for _ in range(int(u.sum()))),
    )


def _names(study: Study, findings: Findings) -> tuple[str, ...]:
    asked = tuple(study.file.comparison.findings)
    criteria = study.file.choice
    wanted = (*(w.finding for w in criteria.wants), *(m.finding for m in criteria.musts if m.equals is None))
    known = set(findings.names())
    return tuple(n for n in dict.fromkeys(asked or (*wanted, *USUAL)) if n in known)
