"""What is wrong with a folder, as fields to fill in: one a problem, alike ones together."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from halfcell.errors import Problem

_KEY = re.compile(r"^([A-Za-z_][\w.\- ]*?)(?: \(line \d+\))?$")
_CELL = re.compile(r"^row (\d+), column (\w+)$")


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """One place in one file that wants an answer; ``example`` is what a right one looks like."""

    file: str
    place: str
    key: str = ""
    """Dotted key of study.toml; empty where the place is no key."""
    row: int = 0
    column: str = ""
    what: str
    example: str
    severity: str

    @property
    def label(self) -> str:
        """What the field is for, in words: the table's name, the key, or the row."""
        if not self.key:
            return f"{self.file}, row {self.row}, {self.column}" if self.row else self.place
        first, *between, last = ["", *self.key.split(".")] if "." not in self.key else self.key.split(".")
        words = last.replace("_", " ")
        return f"{'.'.join(between)}: {words}" if between and first else words.capitalize()


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Questions of the same kind, which often have the same answer."""

    title: str
    questions: tuple[Question, ...]

    @property
    def answerable(self) -> bool:
        """Whether they can be answered by filling in a field."""
        return all(q.key or q.row for q in self.questions)


def groups(problems: Sequence[Problem]) -> list[Group]:
    """The problems as questions, alike ones together, in the order in which they came."""
    found: dict[tuple[str, str, str], list[Question]] = {}
    for problem in problems:
        question = _question(problem)
        last = question.key.rsplit(".", 1)[-1] or question.column or question.place
        section = question.key.split(".", 1)[0] if "." in question.key else ""
        found.setdefault((question.file, section, last), []).append(question)
    made = [Group(title=_title(*mark), questions=tuple(qs)) for mark, qs in found.items()]
    # What concerns the whole study first, then what is asked of each thing; what needs an editor last.
    return sorted(made, key=lambda g: (not g.answerable, any("." in q.key for q in g.questions)))


def _title(file: str, section: str, last: str) -> str:
    words = last.replace("_", " ")
    return f"{words} of {section.replace('_', ' ')}" if section else f"{words} ({file})" if words else file


def _question(problem: Problem) -> Question:
    key = _KEY.match(problem.place) if problem.file == "study.toml" else None
    cell = _CELL.match(problem.place) if problem.file == "runs.csv" else None
    example = problem.example
    if key and " = " in example:
        example = example.split(" = ", 1)[1].strip().strip('"')
    return Question(
        file=problem.file,
        place=problem.place,
        key=key.group(1) if key else "",
        row=int(cell.group(1)) if cell else 0,
        column=cell.group(2) if cell else "",
        what=problem.what,
        example=example,
        severity=problem.severity,
    )


def answer(folder: Path, answers: Sequence[dict[str, Any]]) -> None:
    """Write answers into study.toml and runs.csv, comments kept.

    Each holds "value" and either "key" (dotted) or "row" and "column". Raises StudyError when a
    file was changed meanwhile or a key cannot be set.
    """
    from halfcell.study.edit import StudyEdit
    from halfcell.study.edit_runs import RunsEdit

    keys = [a for a in answers if a.get("key")]
    if keys:
        edit = StudyEdit(folder)
        for one in keys:
            edit.set(str(one["key"]), _value(str(one["value"])))
        edit.save(unfinished=True)
    cells = [a for a in answers if a.get("row")]
    if cells:
        runs = RunsEdit(folder)
        for one in cells:
            runs.set(int(one["row"]), str(one["column"]), str(one["value"]))
        runs.save()


def _value(text: str) -> Any:
    """A number, yes/no or list as TOML writes them; everything else is a text."""
    try:
        value = tomllib.loads(f"x = {text}")["x"]
    except tomllib.TOMLDecodeError:
        return text
    return value if isinstance(value, (int, float, bool, list)) else text
