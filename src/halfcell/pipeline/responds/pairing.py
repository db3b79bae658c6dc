"""Which records are judged, and which blank belongs to each."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from halfcell.study.model import Run
    from halfcell.study.study import Study

SWEEPS = ("cyclic voltammogram", "linear sweep", "differential pulse", "square wave")

PULSED = ("differential pulse", "square wave")

RULE = (
    "The blank of a record is the one of the same electrode and technique, in a solution without analyte in the same state of "
    "oxygen and without a confounder, at the nearest scan rate (within a factor of 1.5), then the same solution, then the nearest in order."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """A record, its blank (or None with the reason), and its condition in words."""

    run: Run
    blank: Run | None
    why: str
    condition: str
    headline: bool
    """Whether it is taken at the study's main condition, the one most electrodes share."""


def is_blank(run: Run) -> bool:
    """No analyte, and no unknown sample."""
    return not run.concentration and not run.sample and not run.spike


def oxygen_state(study: Study, run: Run) -> str:
    """The stated state of oxygen, and the level where one is stated."""
    solution = study.solution(run)
    if solution is None:
        return ""
    return f"{solution.oxygen} {solution.oxygen_concentration or ''}".strip()


def confounded(study: Study, run: Run) -> bool:
    """Whether another species was added, or oxygen was let in where the study also has records without it."""
    solution = study.solution(run)
    if solution is None:
        return False
    if solution.confounder:
        return True
    removed = any(s.oxygen == "removed" for s in study.file.solutions.values())
    return removed and solution.oxygen in {"air", "stated"}


def pairs(study: Study) -> tuple[Pair, ...]:
    """All records in analyte alone, each with its blank."""
    runs = [
        r
        for r in study.runs_of(*SWEEPS)
        if not is_blank(r) and not r.sample and not r.spike and not confounded(study, r)
    ]
    main = main_condition(runs)
    found: list[Pair] = []
    seen: Counter[tuple[str, str]] = Counter()
    for run in sorted(runs, key=lambda r: (r.order is None, r.order or 0)):
        blank, why = blank_of(study, run)
        words = condition(run)
        seen[run.electrode, words] += 1
        again = seen[run.electrode, words]
        headline = main is not None and again == 1 and words == condition(main)
        found.append(
            Pair(
                run=run,
                blank=blank,
                why=why,
                condition=words + (f", repeat {again}" if again > 1 else ""),
                headline=headline,
            )
        )
    order = {run.file: k for k, run in enumerate(study.runs)}
    return tuple(sorted(found, key=lambda p: order[p.run.file]))


def condition(run: Run) -> str:
    """ "1 mmol/L, 50 mV/s", and the technique where it is not cyclic."""
    level = run.concentration or 0.0
    parts = [f"{level:.6g} mmol/L" if level >= 0.1 else f"{level * 1e3:.6g} µmol/L"]
    if run.scan_rate is not None:
        parts.append(f"{run.scan_rate * 1e3:.6g} mV/s")
    if run.technique != "cyclic voltammogram":
        parts.append(run.technique)
    return ", ".join(parts)


def main_condition(runs: list[Run]) -> Run | None:
    """A run at the condition that most electrodes share; ties go to the rate nearest 50 mV/s, then the highest level."""
    if not runs:
        return None
    electrodes: dict[str, set[str]] = {}
    first: dict[str, Run] = {}
    for run in runs:
        electrodes.setdefault(condition(run), set()).add(run.electrode)
        first.setdefault(condition(run), run)

    def rank(words: str) -> tuple[float, ...]:
        run = first[words]
        away = abs(math.log((run.scan_rate or 0.05) / 0.05))
        return (
            len(electrodes[words]),
            run.technique == "cyclic voltammogram",
            -away,
            run.concentration or 0.0,
        )

    return first[max(first, key=rank)]


def blank_of(study: Study, run: Run) -> tuple[Run | None, str]:
    """The blank of a record, by the rule, or None and why."""
    others = [
        r
        for r in study.runs_of(run.technique, electrode=run.electrode)
        if r is not run
        and is_blank(r)
        and oxygen_state(study, r) == oxygen_state(study, run)
        and not _other_species(study, r)
    ]
    if not others:
        return None, f"{run.electrode} has no blank of the same technique and state of oxygen"
    near = [r for r in others if _apart(run, r) <= math.log(1.5)]
    if not near:
        return (
            None,
            f"no blank of {run.electrode} was taken within a factor of 1.5 of {(run.scan_rate or 0) * 1e3:.4g} mV/s",
        )
    return min(
        near,
        key=lambda r: (_apart(run, r), r.solution != run.solution, abs((r.order or 0) - (run.order or 0))),
    ), ""


def _other_species(study: Study, run: Run) -> bool:
    solution = study.solution(run)
    return solution is not None and bool(solution.confounder)


def _apart(a: Run, b: Run) -> float:
    if a.scan_rate is None or b.scan_rate is None:
        return 0.0 if a.scan_rate == b.scan_rate else 0.1
    return abs(math.log(a.scan_rate / b.scan_rate))
