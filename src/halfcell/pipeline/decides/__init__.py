"""From the table of findings to comparisons and the choice, and the findings and exhibits they add."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from halfcell.errors import HalfcellError, Problem
from halfcell.pipeline.decides.comparing import comparisons
from halfcell.pipeline.decides.criteria import criteria_of, limited
from halfcell.pipeline.decides.exhibits import exhibits_of
from halfcell.pipeline.decides.findings import choice_findings, comparison_findings

if TYPE_CHECKING:
    from collections.abc import Sequence

    from halfcell.choice.choose import Choice
    from halfcell.comparison.compare import Comparison
    from halfcell.finding import Finding, Findings
    from halfcell.pipeline.bench import Bench
    from halfcell.pipeline.outcome import Exhibit
    from halfcell.study.study import Study

__all__ = ["Decided", "choice_of", "decide"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Decided:
    """Comparisons, the choice, and the findings and exhibits they add."""

    findings: tuple[Finding, ...] = ()
    comparisons: tuple[Comparison, ...] = ()
    choice: Choice | None = None
    exhibits: tuple[Exhibit, ...] = ()
    problems: tuple[Problem, ...] = ()


def decide(bench: Bench, findings: Findings, exhibits: Sequence[Exhibit] = ()) -> Decided:
    """Compare the groups and choose, from the table; ``exhibits`` hold the points of calibrations."""
    study = bench.study
    compared, problems = comparisons(study, findings, exhibits, bench.crew)
    choice = None
    try:
        choice = choice_of(study, findings)
    except HalfcellError as error:
        problems += (Problem(file="study.toml", place="choice", what=str(error), severity="warning"),)
    made = comparison_findings(compared) + (choice_findings(choice) if choice else ())
    return Decided(
        findings=tuple({f.key: f for f in made}.values()),
        comparisons=compared,
        choice=choice,
        exhibits=exhibits_of(compared, choice),
        problems=problems,
    )


def choice_of(
    study: Study,
    findings: Findings,
    weights: dict[str, float] | None = None,
    level: float | None = None,
    limits: dict[str, str] | None = None,
) -> Choice | None:
    """The choice by the study's criteria, with other weights, limits or another level if given; None without criteria.

    ``limits`` maps a finding to the limit of its must, a quantity such as "5 umol/L". Only the table is
    read, so that a change of mind is seen at once. Raises HalfcellError for a weight of something that
    is not wanted and for a limit where no single must has one.
    """
    from halfcell.choice.choose import choose

    criteria = limited(criteria_of(study.file.choice), limits or {})
    if not criteria.musts and not criteria.wants:
        return None
    if weights:
        criteria = criteria.weighted(weights)
    analysis = study.file.analysis
    return choose(
        findings,
        criteria,
        by=study.file.group_by,
        level=analysis.confidence if level is None else level,
        count=study.file.choice.draws,
        seed=analysis.seed,
        unit=study.file.comparison.independent,
    )
