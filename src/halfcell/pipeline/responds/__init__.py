"""The stage "responds": voltammograms against their blanks, charging, the control study, scan rates."""

from __future__ import annotations

from halfcell.finding import Findings
from halfcell.pipeline.bench import Bench
from halfcell.pipeline.outcome import Outcome
from halfcell.pipeline.responds.capacities import capacities
from halfcell.pipeline.responds.control_study import control_study
from halfcell.pipeline.responds.couples import couple_findings
from halfcell.pipeline.responds.metal import metal
from halfcell.pipeline.responds.probe_areas import probe_areas
from halfcell.pipeline.responds.real_areas import real_areas
from halfcell.pipeline.responds.records import records
from halfcell.pipeline.responds.scan_rates import scan_rates


def responds(bench: Bench, findings: Findings) -> Outcome:
    """The findings of this stage; ``findings`` are those of the stages before."""
    fitted = records(bench)
    couples = tuple(f for one in fitted.judged for f in couple_findings(bench, one))
    outcome = (
        fitted.outcome.plus(Outcome(findings=couples))
        .plus(scan_rates(bench, fitted.judged))
        .plus(capacities(bench))
        .plus(probe_areas(bench))
    )
    here = Findings(outcome.findings, findings.attributes)
    outcome = outcome.plus(real_areas(bench, here)).plus(control_study(bench, here))
    return outcome.plus(metal(bench, findings))
