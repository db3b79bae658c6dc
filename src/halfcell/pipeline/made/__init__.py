"""The stage "made": what is on the surface, from the micrographs and the recipes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from halfcell.errors import Problem
from halfcell.finding import Findings
from halfcell.pipeline.bench import Bench
from halfcell.pipeline.made.electrode import charge_finding, effect_findings, electrode_findings
from halfcell.pipeline.made.exhibits import field_exhibits, sizes_exhibit
from halfcell.pipeline.made.field import Field, examine
from halfcell.pipeline.made.groups import regime_findings, variance_findings
from halfcell.pipeline.outcome import Outcome
from halfcell.pipeline.workers import Job

if TYPE_CHECKING:
    from halfcell.study.adjustments import Adjustment
    from halfcell.study.model import Run

_KINDS = ("exclude particle", "add particle", "split particle", "merge particles", "mask region", "scale bar")


def made(bench: Bench, findings: Findings) -> Outcome:
    """The findings of this stage; ``findings`` are those of the stages before."""
    runs = bench.study.runs_of("micrograph")
    outcome = Outcome()
    results = (
        bench.crew.each(examine, [_job(bench, run) for run in runs], what="Measuring micrographs")
        if runs
        else []
    )
    fields: dict[str, list[Field]] = {}
    for electrode in bench.study.file.electrodes:
        own = [(run, result) for run, result in zip(runs, results, strict=True) if run.electrode == electrode]
        outcome = outcome.plus(_electrode(bench, electrode, own))
        fields[electrode] = [result for _, result in own if isinstance(result, Field)]
    return outcome.plus(Outcome(findings=variance_findings(bench, fields)))


def _job(bench: Bench, run: Run) -> Job:
    chosen = bench.study.file.analysis.micrographs
    inputs = {
        "data_bar": chosen.data_bar,
        "shape": chosen.particle_shape,
        "smallest": chosen.smallest,
        "level": bench.confidence,
        "seed": bench.study.file.analysis.seed,
        "decisions": tuple(_plain(d) for d in bench.study.decisions(run.file, *_KINDS)),
    }
    return Job(files=(bench.source(run),), inputs=inputs, about=run.file)


def _plain(decision: Adjustment) -> dict[str, Any]:
    """A decision as plain data in SI units, without who, when and why."""
    apart = {"who", "when", "why", "file"}
    return {name: getattr(decision, name) for name in type(decision).model_fields if name not in apart}


def _electrode(bench: Bench, electrode: str, own: list[tuple[Run, Field | Problem]]) -> Outcome:
    problems = [result for _, result in own if isinstance(result, Problem)]
    by_charge = charge_finding(bench, electrode)
    good = [(run, result) for run, result in own if isinstance(result, Field)]
    if not good:
        return Outcome(findings=by_charge, problems=tuple(problems))
    fields, runs = [field for _, field in good], tuple(run for run, _ in good)
    for field in fields:
        problems += [
            Problem(file=field.file, what=said, severity="warning") for said in field.quality.warnings
        ]
        problems += [Problem(file=field.file, place="adjustments.toml", what=said) for said in field.unfit]
    result = electrode_findings(bench, electrode, runs, fields)
    if result.why:
        problems.append(
            Problem(file=fields[0].file, place=f"electrode {electrode}", what=result.why, severity="warning")
        )
    exhibits = [e for field in fields for e in field_exhibits(bench, electrode, field)]
    if result.sizes is not None:
        exhibits.append(sizes_exhibit(bench, electrode, tuple(f.file for f in fields), result.sizes))
    more = (
        *by_charge,
        *effect_findings(bench, electrode, runs, fields),
        *regime_findings(bench, electrode, runs, fields),
    )
    return Outcome(findings=(*result.findings, *more), exhibits=tuple(exhibits), problems=tuple(problems))
