"""The stage "responds": voltammograms against their blanks, charging, the control study, scan rates."""

from __future__ import annotations

from halfcell.finding import Findings
from halfcell.pipeline.bench import Bench
from halfcell.pipeline.outcome import Outcome
from halfcell.pipeline.responds.capacities import capacities
from halfcell.pipeline.responds.control_study import control_study
from halfcell.pipeline.responds.records import records


def responds(bench: Bench, findings: Findings) -> Outcome:
    """The findings of this stage; ``findings`` are those of the stages before."""
    fitted = records(bench)
    outcome = fitted.outcome
    outcome = outcome.plus(capacities(bench))
    return outcome.plus(control_study(bench, Findings(outcome.findings, findings.attributes)))
