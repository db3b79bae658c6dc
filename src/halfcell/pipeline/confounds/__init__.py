"""The stage "confounds": what else would be read as analyte; see halfcell.pipeline.stages."""

from __future__ import annotations

from typing import TYPE_CHECKING

from halfcell.errors import Problem
from halfcell.pipeline.outcome import Outcome

if TYPE_CHECKING:
    from halfcell.finding import Findings
    from halfcell.pipeline.bench import Bench


def confounds(bench: Bench, findings: Findings) -> Outcome:
    """The findings of this stage; ``findings`` are those of the stages before.

    A confounder is judged on an electrode that has runs of one kind both with and without it; blanks and
    runs with analyte all count, in one model.
    """
    if not bench.study.file.confounders:
        return Outcome()
    from halfcell.pipeline.confounds.evidence import gather, judge
    from halfcell.pipeline.confounds.sweeps import by_sweeps
    from halfcell.pipeline.quantifies.peaks import gather_peaks
    from halfcell.pipeline.quantifies.stepped import gather_steps
    from halfcell.pipeline.quantifies.stirred import gather_additions

    points = [*gather_additions(bench).points, *gather_steps(bench).points, *gather_peaks(bench, findings)]
    out = Outcome()
    for name in bench.study.file.confounders:
        swept = by_sweeps(bench, findings, name)
        out = out.plus(swept)
        seen = findings.plus(swept.findings)
        judged = {f.electrode for f in swept.findings}
        for evidence in gather(bench, findings, name, points):
            made = judge(bench, seen, evidence)
            out = out.plus(made)
            if made.findings:
                judged.add(evidence.electrode)
        bare = [
            e
            for e, made in bench.study.file.electrodes.items()
            if made.role == "candidate" and e not in judged
        ]
        if bare:
            what = f"there are no runs with and without {name} to judge it by on {', '.join(bare)}."
            example = (
                'runs in a solution with oxygen = "air" and in one with oxygen = "removed"'
                if name == "oxygen"
                else f'runs in a solution with confounder = "{name}" and in one without'
            )
            out = out.plus(
                Outcome(
                    problems=(
                        Problem(
                            file="runs.csv",
                            place=f"confounder {name}",
                            what=what,
                            example=example,
                            severity="warning",
                        ),
                    )
                )
            )
    return out
