"""From the table of findings to comparisons and the choice."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from halfcell.choice.choose import Choice
    from halfcell.comparison.compare import Comparison
    from halfcell.errors import Problem
    from halfcell.finding import Finding, Findings
    from halfcell.pipeline.bench import Bench


@dataclass(frozen=True, slots=True, kw_only=True)
class Decided:
    """Comparisons, the choice, and the findings they add."""

    findings: tuple[Finding, ...] = ()
    comparisons: tuple[Comparison, ...] = ()
    choice: Choice | None = None
    problems: tuple[Problem, ...] = ()


def decide(bench: Bench, findings: Findings) -> Decided:
    """Compare the groups and choose, from the table alone."""
    return Decided()
