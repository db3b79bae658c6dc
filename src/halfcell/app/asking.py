"""What is wrong with a folder, as fields to fill in: one a problem, alike ones together."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from halfcell.study.translate import LACKING

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from pathlib import Path

    from halfcell.errors import Problem

_KEY = re.compile(r"^(?!line \d+$)([A-Za-z_][\w.\- ]*?)(?: \(line \d+\))?$")
_CELL = re.compile(r"^row (\d+), column (\w+)$")


ASKED = {
    ("study.toml", "", "analyte"): ("What is to be sensed?", "The species that the electrode shall measure."),
    ("study.toml", "", "reference_electrode"): (
        "Which reference electrode are the potentials against?",
        "The one that was in the cell, with its filling solution.",
    ),
    ("study.toml", "electrodes", "area"): (
        "How large is each electrode?",
        "The geometric area that touches the solution: a disc 3 mm across has 0.0707 cm^2.",
    ),
    ("study.toml", "electrodes", "material"): ("What is each electrode made of?", ""),
    ("study.toml", "confounders", "level"): (
        "How much of it will real samples hold?",
        "For example, water in equilibrium with air at 25 °C holds about 0.26 mmol/L of oxygen.",
    ),
    ("study.toml", "analysis", "start_volume"): (
        "How much solution was in the cell before the first addition?",
        "It is needed for the concentration after each addition.",
    ),
    ("study.toml", "solutions", "description"): (
        "What is each solution?",
        "Electrolyte, concentration and pH, and whether oxygen was removed from it.",
    ),
    ("runs.csv", "", "electrode"): ("Of which electrode are these files?", ""),
    ("runs.csv", "", "technique"): ("Which kind of record are these files?", ""),
    ("runs.csv", "", "scan_rate"): (
        "At which scan rate were these taken?",
        "Neither the name nor the numbers tell.",
    ),
    ("runs.csv", "", "scale"): (
        "How long is a pixel of these micrographs?",
        "Their scale could not be read; without it no sizes can be given.",
    ),
}
"""What is asked in plain words, and a help, by file, table and key."""


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
    record: str = ""
    """The raw file that the row is about."""

    @property
    def mark(self) -> tuple[str, str, str]:
        """File, table and key: alike questions have the same."""
        last = self.key.rsplit(".", 1)[-1] or self.column or self.place
        return self.file, self.key.split(".", 1)[0] if "." in self.key else "", last

    @property
    def label(self) -> str:
        """What the field is for, in words: the table's name, the key, or the row."""
        if not self.key:
            row = f"{self.record or self.file}, row {self.row}"
            return (row if self.mark in ASKED else f"{row}, {self.column}") if self.row else self.place
        first, *between, last = ["", *self.key.split(".")] if "." not in self.key else self.key.split(".")
        words = last.replace("_", " ")
        if between and first:
            if first == "analysis":
                return words.capitalize()
            return ".".join(between) if self.mark in ASKED else f"{'.'.join(between)}: {words}"
        return words.capitalize()

    @property
    def words(self) -> str:
        """What is wrong, where it is more than that nothing is filled in yet."""
        return "" if LACKING in self.what and self.mark in ASKED else self.what


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Questions of the same kind, which often have the same answer."""

    title: str
    questions: tuple[Question, ...]
    help: str = ""
    link: str = ""
    """The page on which all of them are answered by pointing."""
    link_words: str = ""

    @property
    def answerable(self) -> bool:
        """Whether they can be answered by filling in a field."""
        return not self.link and all(q.key or q.row for q in self.questions)


@dataclass(frozen=True, slots=True, kw_only=True)
class Chapter:
    """Groups about which the same is to be done."""

    title: str
    groups: tuple[Group, ...]


def chapters(problems: Sequence[Problem], rows: Mapping[int, str] | None = None) -> list[Chapter]:
    """The problems by what to do about them: show, answer, mend by hand, look at. ``rows`` names the file of each row of runs.csv."""
    found = groups(problems, rows)
    kinds: tuple[tuple[str, Callable[[Group], bool]], ...] = (
        ("Show how the files are read", lambda g: bool(g.link)),
        ("Answer", lambda g: g.answerable and not _mild(g)),
        ("Mend in the files themselves", lambda g: not g.link and not g.answerable and not _mild(g)),
        ("Worth a look; nothing waits for it", lambda g: not g.link and _mild(g)),
    )
    made = [Chapter(title=title, groups=tuple(g for g in found if fits(g))) for title, fits in kinds]
    return [chapter for chapter in made if chapter.groups]


def groups(problems: Sequence[Problem], rows: Mapping[int, str] | None = None) -> list[Group]:
    """The problems as questions, alike ones together: what concerns the whole study first."""
    found: dict[tuple[str, str, str], list[Question]] = {}
    unread: dict[str, list[Question]] = {}
    for problem in problems:
        question = _question(problem, rows or {})
        if problem.severity != "warning" and (
            question.key.startswith("readers.") or question.file.startswith("data/")
        ):
            whose = ".".join(question.key.split(".")[:2]) or question.file
            unread.setdefault(whose, []).append(question)
        else:
            found.setdefault(question.mark, []).append(question)
    made = [
        Group(
            title=ASKED[mark][0] if mark in ASKED else _title(*mark),
            help=ASKED[mark][1] if mark in ASKED else "",
            questions=tuple(qs),
        )
        for mark, qs in found.items()
    ]
    made.sort(key=lambda g: (not g.answerable, any("." in q.key for q in g.questions)))
    return [*_unread(unread), *made]


def _unread(found: Mapping[str, list[Question]]) -> list[Group]:
    """Files that cannot be read: one group, answered by pointing."""
    if not found:
        return []
    names = [name for name in found if not name.startswith("readers.")]
    one = f"/reading?{urlencode({'file': names[0]})}" if len(found) == len(names) == 1 else "/files"
    shown = "; ".join(f"{name}: {found[name][0].what.partition(chr(10))[0]}" for name in names[:6])
    return [
        Group(
            title="Some files cannot be read without you",
            help=shown or "Their columns have no headings or units that tell what they hold.",
            questions=tuple(q for qs in found.values() for q in qs),
            link=one,
            link_words="Say what their columns are",
        )
    ]


def _mild(group: Group) -> bool:
    return all(q.severity == "warning" for q in group.questions)


def _title(file: str, section: str, last: str) -> str:
    words = last.replace("_", " ")
    return f"{words} of {section.replace('_', ' ')}" if section else f"{words} ({file})" if words else file


def _question(problem: Problem, rows: Mapping[int, str]) -> Question:
    key = _KEY.match(problem.place) if problem.file == "study.toml" else None
    cell = _CELL.match(problem.place) if problem.file == "runs.csv" else None
    example = problem.example
    if key and " = " in example:
        example = example.split(" = ", 1)[1].strip().strip('"')
    row = int(cell.group(1)) if cell else 0
    return Question(
        file=problem.file,
        place=problem.place,
        key=key.group(1) if key else "",
        row=row,
        column=cell.group(2) if cell else "",
        what=problem.what,
        example=example,
        severity=problem.severity,
        record=rows.get(row, ""),
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
