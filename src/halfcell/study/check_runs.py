"""Checks of the rows as measurements: blanks, rows that say too little."""

from __future__ import annotations

from collections.abc import Iterator

from halfcell.errors import Problem
from halfcell.study.atomic import content_hash
from halfcell.study.check_files import inside, present
from halfcell.study.draft import RUNS, Draft
from halfcell.study.model import Run
from halfcell.study.table import Row

_SWEEPS = {"cyclic voltammogram", "linear sweep", "differential pulse", "square wave"}


def check_runs(draft: Draft) -> Iterator[Problem]:
    """Rows that are right by themselves but not enough for what they are for (warnings)."""
    runs = list(draft.runs.values())
    yield from _all_blank(draft, runs)
    for row in draft.rows:
        run = draft.runs.get(row.number)
        if run is None:
            continue
        if (
            run.technique in _SWEEPS
            and run.concentration
            and not any(_blank_for(run, other) for other in runs)
        ):
            what = f"no blank of {run.electrode} ({run.technique}, same solution and scan rate) was found; the background cannot be subtracted."
            example = f"a row with concentration empty, electrode {run.electrode}"
            yield Problem(
                file=RUNS,
                place=draft.at(row, "concentration"),
                what=what,
                example=example,
                severity="warning",
            )
        if run.technique == "additions" and not run.log:
            yield Problem(
                file=RUNS,
                place=draft.at(row, "log"),
                what="names no addition log, so the levels are not known and there is no calibration.",
                example="data/ni1_additions_log.csv",
                severity="warning",
            )
        if run.spike is not None and not run.sample:
            yield Problem(
                file=RUNS,
                place=draft.at(row, "sample"),
                what="has a spike but names no sample.",
                example="pond 3",
            )


def _all_blank(draft: Draft, runs: list[Run]) -> Iterator[Problem]:
    """That no row states a concentration, so that nothing was measured with analyte."""
    if any(r.concentration or r.technique == "additions" or r.sample for r in runs):
        return
    empty = [r for r in runs if r.technique in _SWEEPS | {"potential step"} and r.concentration is None]
    if empty:
        yield Problem(
            file=RUNS,
            place="column concentration",
            what="no row states a concentration, so every record counts as a blank, and nothing can be said of the response to the analyte.",
            example="1 mmol/L",
            severity="warning",
        )


def check_copies(draft: Draft) -> Iterator[Problem]:
    """Raw files that are the same to the last byte under two names (a warning: most likely a slip of copying)."""
    by_size: dict[int, list[tuple[Row, str]]] = {}
    for row in draft.rows:
        path = row.cells.get("file", "")
        if path and inside(path, draft.root) is None and present(draft.root, path):
            by_size.setdefault((draft.root / path).stat().st_size, []).append((row, path))
    for same_size in by_size.values():
        first: dict[str, str] = {}
        for row, path in same_size if len(same_size) > 1 else ():
            earlier = first.setdefault(content_hash(draft.root / path), path)
            if earlier != path:
                what = f"{path} is the same, to the last byte, as {earlier}."
                yield Problem(
                    file=RUNS,
                    place=draft.at(row, "file"),
                    what=what,
                    example="the file that was meant",
                    severity="warning",
                )


def _blank_for(run: Run, other: Run) -> bool:
    if (
        other.electrode != run.electrode
        or other.technique != run.technique
        or other.concentration
        or other.sample
    ):
        return False
    if run.scan_rate and other.scan_rate and abs(other.scan_rate / run.scan_rate - 1) > 0.02:
        return False
    return other.solution == run.solution or not run.solution or not other.solution
