"""The stage "quantifies": calibrations and their figures of merit; see halfcell.pipeline.stages."""

from __future__ import annotations

from typing import TYPE_CHECKING

from halfcell.pipeline.outcome import Outcome

if TYPE_CHECKING:
    from halfcell.errors import Problem
    from halfcell.finding import Finding, Findings
    from halfcell.pipeline.bench import Bench
    from halfcell.pipeline.quantifies.lines import Fitted
    from halfcell.pipeline.quantifies.stirred import Gathered


def quantifies(bench: Bench, findings: Findings) -> Outcome:
    """The findings of this stage; ``findings`` are those of the stages before."""
    from halfcell.pipeline.quantifies.across import group_findings
    from halfcell.pipeline.quantifies.exhibits import exhibit, group_exhibit, limits_exhibit
    from halfcell.pipeline.quantifies.figures_of_merit import merits
    from halfcell.pipeline.quantifies.lines import fit_lines
    from halfcell.pipeline.quantifies.peaks import gather_peaks
    from halfcell.pipeline.quantifies.samples import sample_findings
    from halfcell.pipeline.quantifies.stability import stability_findings
    from halfcell.pipeline.quantifies.standardised import stock_findings
    from halfcell.pipeline.quantifies.stepped import gather_steps
    from halfcell.pipeline.quantifies.stirred import gather_additions

    stirred, stepped = gather_additions(bench), gather_steps(bench)
    points = [*stirred.points, *stepped.points, *gather_peaks(bench, findings)]
    lines = fit_lines(bench, points)
    found = [*stirred.findings, *stepped.findings]
    for fitted in lines.fitted:
        found += merits(bench, findings, fitted)
    found += _response_times(bench, stirred)
    found += stock_findings(bench)
    found += group_findings(bench, lines.main())
    told: list[Problem] = []
    found += sample_findings(bench, points, lines.main(), told)
    found += stability_findings(bench, points, lines.main())
    main = lines.main()
    groups: dict[str, list[Fitted]] = {bench.study.group(f.electrode): [] for f in main}
    for f in main:
        groups[bench.study.group(f.electrode)].append(f)
    shown = [group_exhibit(bench, group, members) for group, members in groups.items()]
    shown += [e for e in (limits_exhibit(bench, f) for f in main) if e is not None]
    shown += [exhibit(bench, f) for f in lines.fitted]
    return Outcome(
        findings=tuple(found),
        exhibits=(*stirred.exhibits, *stepped.exhibits, *shown),
        problems=(*stirred.problems, *stepped.problems, *lines.problems, *told),
    )


def _response_times(bench: Bench, stirred: Gathered) -> list[Finding]:
    from halfcell.pipeline.quantifies.across import response_time

    out = []
    for electrode in dict.fromkeys(run.electrode for run, _ in stirred.rises):
        records = [(run, rises) for run, rises in stirred.rises if run.electrode == electrode]
        each = [m for _, rises in records for m in rises]
        runs = tuple(run for run, _ in records)
        settings = {"steps": len(each)}
        out.append(
            bench.finding(
                "response_time",
                response_time(each),
                method="response time",
                electrode=electrode,
                runs=runs,
                settings=settings,
            )
        )
    return out
