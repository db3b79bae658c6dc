"""Read a study folder, or say everything that is wrong with it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

from halfcell.errors import Problem, StudyError
from halfcell.study.check_criteria import check_criteria
from halfcell.study.check_decisions import check_decisions
from halfcell.study.check_files import check_files
from halfcell.study.check_names import check_names
from halfcell.study.check_raw import Progress, check_raw
from halfcell.study.check_readers import check_readers
from halfcell.study.check_runs import check_copies, check_runs
from halfcell.study.check_sizes import check_sizes
from halfcell.study.draft import Draft, read_draft
from halfcell.study.study import Study
from halfcell.study.words import count, printable

_CHECKS: tuple[Callable[[Draft], Iterator[Problem]], ...] = (
    check_files,
    check_names,
    check_readers,
    check_criteria,
    check_decisions,
)
"""What must be right before anything is analysed."""

_SHOWN = 30


def check(folder: str | Path, progress: Progress | None = None) -> tuple[Problem, ...]:
    """Everything that is wrong with a study folder, errors first, at once.

    ``progress(what, done, of)`` is called while raw files are read.
    Reads the three files of the study and opens each raw file; executes and writes nothing.
    Raises StudyError only when there is no such folder.
    """
    draft = read_draft(Path(folder))
    problems = list(draft.problems)
    for part in (*_CHECKS, check_runs, check_sizes, check_copies):
        problems += part(draft)
    problems += check_raw(draft, progress)
    return _sorted(problems)


def open_study(folder: str | Path) -> Study:
    """The study in a folder. Raises StudyError with every mistake found (warnings aside)."""
    draft = read_draft(Path(folder))
    wrong = mistakes(draft)
    if wrong or draft.file is None:
        raise StudyError(_summary(draft.root, wrong), problems=wrong)
    runs = tuple(draft.runs[row.number] for row in draft.rows)
    return Study(folder=draft.root, file=draft.file, runs=runs, adjustments=draft.decisions)


def mistakes(draft: Draft) -> tuple[Problem, ...]:
    """What keeps a study from being opened: every mistake, answers still to be given among them."""
    problems = list(draft.problems)
    for part in _CHECKS:
        problems += part(draft)
    return tuple(p for p in _sorted(problems) if p.severity == "error")


def _sorted(problems: list[Problem]) -> tuple[Problem, ...]:
    shown = [
        replace(
            p,
            file=printable(p.file),
            place=printable(p.place),
            what=printable(p.what),
            example=printable(p.example),
            lines=printable(p.lines),
        )
        for p in problems
    ]
    return tuple(sorted(dict.fromkeys(shown), key=lambda p: p.severity != "error"))


def _summary(root: Path, wrong: tuple[Problem, ...]) -> str:
    lines = [f"The study {root.name!r} has {count(len(wrong), 'mistake')}:"]
    lines += [f"  {problem}" for problem in wrong[:_SHOWN]]
    if len(wrong) > _SHOWN:
        lines.append(f"  and {len(wrong) - _SHOWN} more; halfcell check lists them all.")
    return "\n".join(lines)
