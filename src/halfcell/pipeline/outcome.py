"""What a stage of the analysis hands on: findings, exhibits, problems."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from halfcell.choice.choose import Choice
    from halfcell.comparison.compare import Comparison
    from halfcell.errors import Problem
    from halfcell.finding import Finding, Findings
    from halfcell.study.study import Study


@dataclass(frozen=True, slots=True, kw_only=True)
class Exhibit:
    """The drawn evidence behind findings: arrays and numbers that a figure only has to draw.

    ``kind`` names the drawing in halfcell.report.figures; ``key`` is unique in the study;
    ``data`` holds arrays, floats and texts in the units its names or its ``units`` entry say.
    """

    kind: str
    key: str
    title: str
    place: str
    electrode: str = ""
    group: str = ""
    condition: str = ""
    recordings: tuple[str, ...] = ()
    data: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What one stage made."""

    findings: tuple[Finding, ...] = ()
    exhibits: tuple[Exhibit, ...] = ()
    problems: tuple[Problem, ...] = ()

    def plus(self, other: Outcome) -> Outcome:
        """Both together, in order."""
        return Outcome(
            findings=self.findings + other.findings,
            exhibits=self.exhibits + other.exhibits,
            problems=self.problems + other.problems,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Analysis:
    """A study analysed: the table of findings, the evidence, the comparisons and the choice."""

    study: Study
    findings: Findings
    exhibits: tuple[Exhibit, ...]
    problems: tuple[Problem, ...]
    comparisons: tuple[Comparison, ...] = ()
    choice: Choice | None = None
    files: Mapping[str, str] = field(default_factory=dict)
    """File path in the folder to its sha256."""

    def shown(self, place: str, kind: str = "") -> tuple[Exhibit, ...]:
        """The exhibits of a place (Made, Responds, …), further of one kind."""
        return tuple(e for e in self.exhibits if e.place == place and kind in ("", e.kind))
