"""A study folder as it was found, right or wrong: the common ground of loading and checking."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from halfcell.errors import Problem, StudyError
from halfcell.study.adjustments import Adjustment, AdjustmentsFile
from halfcell.study.model import Run, StudyFile
from halfcell.study.table import Row, Table, decode, read_table
from halfcell.study.toml import Toml, read_toml
from halfcell.study.translate import BLANK, LACKING, blanks_of, problems_of
from halfcell.study.words import CANNOT_BE_SHOWN, hidden, listed, meant, printable

STUDY, RUNS, ADJUSTMENTS = "study.toml", "runs.csv", "adjustments.toml"
FORMAT = 1
_LARGEST = 50_000_000
"""Bytes above which a study's own text file is not read (a raw file under a wrong name, most likely)."""


@dataclass(slots=True)
class Draft:
    """What a folder holds, as far as it could be read, and what was wrong with its shape."""

    root: Path
    toml: Toml = field(default_factory=lambda: Toml({}))
    file: StudyFile | None = None
    table: Table | None = None
    runs: dict[int, Run] = field(default_factory=dict)
    """Row number to run, for the rows that are right by themselves."""
    decided: Toml = field(default_factory=lambda: Toml({}))
    decisions: tuple[Adjustment, ...] = ()
    problems: list[Problem] = field(default_factory=list)

    @property
    def rows(self) -> tuple[Row, ...]:
        """The rows of runs.csv; none when it could not be read."""
        return self.table.rows if self.table else ()

    def names(self, kind: str) -> list[str]:
        """The names in a table of study.toml ("electrodes", "solutions"), valid or not."""
        part = self.toml.document.get(kind)
        return list(part) if isinstance(part, dict) else []

    def at(self, row: Row, column: str) -> str:
        """A place in runs.csv for a problem."""
        return f"row {row.number}, column {column}"


def read_draft(root: Path) -> Draft:
    """Read the three files of a study folder. Raises StudyError only when there is no folder."""
    if not root.is_dir():
        what = "is not a folder" if root.exists() else "does not exist"
        near = (
            meant(root.name, [p.name for p in root.parent.iterdir() if p.is_dir()])
            if root.parent.is_dir()
            else ""
        )
        hint = f" ({near})" if near.startswith("did") else ""
        raise StudyError(f"The study folder {str(root)!r} {what}{hint}.")
    draft = Draft(root)
    _read_study(draft)
    _read_runs(draft)
    _read_decisions(draft)
    return draft


def _bytes(draft: Draft, name: str, needed: str = "") -> bytes | None:
    path = draft.root / name
    try:
        if path.is_symlink() and not path.resolve().is_relative_to(draft.root.resolve()):
            draft.problems.append(
                Problem(file=name, what="is a link that leaves the study folder; put the file itself here.")
            )
            return None
        if not path.exists() and not needed:
            return None
        if path.exists() and not path.is_file():
            draft.problems.append(Problem(file=name, what="is no file.", example=needed))
            return None
        if path.is_file() and path.stat().st_size > _LARGEST:
            draft.problems.append(
                Problem(file=name, what=f"has {path.stat().st_size:,} bytes; that is no {name}.")
            )
            return None
        return path.read_bytes()
    except FileNotFoundError:
        there = [p.name for p in draft.root.iterdir()]
        near = meant(name, there)
        what = f"is missing; {near}" if near.startswith("did") else "is missing."
        draft.problems.append(Problem(file=name, what=what, example=needed))
    except OSError as error:
        draft.problems.append(Problem(file=name, what=f"cannot be read ({error.strerror or error})."))
    return None


def _toml(draft: Draft, name: str, needed: str = "") -> Toml | None:
    data = _bytes(draft, name, needed)
    if data is None:
        return None
    text, encoding = decode(data)
    if encoding not in {"utf-8", "utf-8-sig"}:
        draft.problems.append(
            Problem(file=name, what=f"is not written in UTF-8 (it looks like {encoding}); save it as UTF-8.")
        )
    toml = read_toml(text, name)
    draft.problems += toml.problems
    version = toml.document.get("format")
    if isinstance(version, bool):
        what = f"'format' is {str(version).lower()}; it is the number of the format."
        draft.problems.append(
            Problem(file=name, place=toml.place("format"), what=what, example=f"format = {FORMAT}")
        )
    if isinstance(version, int) and version > FORMAT:
        what = f"is of format {version}; this halfcell reads format {FORMAT}. A newer halfcell is needed to open this study; nothing was changed."
        draft.problems.append(
            Problem(file=name, place=toml.place("format"), what=what, example=f"format = {FORMAT}")
        )
        return None
    return toml if toml.whole else None


def _read_study(draft: Draft) -> None:
    needed = (
        'a file that begins with: format = 1, analyte = "nitrite", reference_electrode = "Ag/AgCl, 3 M KCl"'
    )
    toml = _toml(draft, STUDY, needed)
    if toml is None:
        return
    draft.toml = toml
    draft.problems += [
        Problem(file=STUDY, place=toml.place(printable(key)), what=CANNOT_BE_SHOWN)
        for key in hidden(toml.document)
    ]
    try:
        draft.file = StudyFile.model_validate(toml.document)
    except ValidationError as error:
        draft.problems += problems_of(error, StudyFile, file=STUDY, place=toml.place)
    told = {problem.place for problem in draft.problems}
    blanks = blanks_of(toml.document, StudyFile, file=STUDY, place=toml.place)
    draft.problems += [problem for problem in blanks if problem.place not in told]


def _read_decisions(draft: Draft) -> None:
    toml = _toml(draft, ADJUSTMENTS)
    if toml is None:
        return
    draft.decided = toml
    draft.problems += [
        Problem(file=ADJUSTMENTS, place=toml.place(printable(key)), what=CANNOT_BE_SHOWN)
        for key in hidden(toml.document)
    ]
    try:
        draft.decisions = tuple(AdjustmentsFile.model_validate(toml.document).adjustment)
    except ValidationError as error:
        draft.problems += problems_of(error, AdjustmentsFile, file=ADJUSTMENTS, place=toml.place)


def _read_runs(draft: Draft) -> None:
    data = _bytes(
        draft, RUNS, "a table with the headings file,electrode,technique,solution,concentration,scan_rate"
    )
    if data is None:
        return
    try:
        draft.table = table = read_table(data, Run.model_fields)
    except StudyError as error:
        draft.problems.append(
            Problem(file=RUNS, what=error.what, example="file,electrode,technique,solution,concentration")
        )
        return
    usable = _check_headings(draft, table)
    if not table.rows:
        draft.problems.append(
            Problem(
                file=RUNS,
                what="has no rows; each raw file needs one.",
                example="data/ni1.csv,Ni-1,cyclic voltammogram,blank,,50 mV/s",
            )
        )
    for row in table.rows if usable else ():
        _read_row(draft, row)


def _check_headings(draft: Draft, table: Table) -> bool:
    for heading, column in zip(table.headings, table.columns, strict=True):
        if column and column not in Run.model_fields:
            draft.problems.append(
                Problem(
                    file=RUNS,
                    place="headings",
                    what=f"the column {heading!r} is not known; {meant(column, Run.model_fields)}",
                    example="note",
                )
            )
        if column and table.columns.count(column) > 1:
            what = f"the column {heading!r} stands there {table.columns.count(column)} times."
            if not any(p.what == what for p in draft.problems):
                draft.problems.append(Problem(file=RUNS, place="headings", what=what))
    needed = [name for name, f in Run.model_fields.items() if f.is_required()]
    lacking = [name for name in needed if name not in table.columns]
    for name in lacking:
        draft.problems.append(
            Problem(
                file=RUNS,
                place="headings",
                what=f"the column {name!r} is missing.",
                example=table.delimiter.join(needed),
            )
        )
    return not lacking


def _read_row(draft: Draft, row: Row) -> None:
    if row.beyond:
        what = f"has more cells than there are headings ({listed(row.beyond, 3)}); put a cell that holds the delimiter in quotes."
        draft.problems.append(
            Problem(file=RUNS, place=f"row {row.number}", what=what, example='"0,5 mmol/L"')
        )
    draft.problems += [
        Problem(file=RUNS, place=draft.at(row, printable(key)), what=CANNOT_BE_SHOWN)
        for key in hidden(row.cells)
    ]
    cells: dict[str, Any] = {k: v for k, v in row.cells.items() if v and k in Run.model_fields}
    if "technique" in cells:
        cells["technique"] = " ".join(cells["technique"].casefold().replace("_", " ").split())
    for column in ("file", "electrode", "solution", "log"):
        if cells.get(column) == BLANK:
            what = f"{column!r} {LACKING}: {Run.model_fields[column].description}"
            example = str((Run.model_fields[column].examples or [""])[0])
            draft.problems.append(Problem(file=RUNS, place=draft.at(row, column), what=what, example=example))
    try:
        draft.runs[row.number] = Run.model_validate(cells)
    except ValidationError as error:
        draft.problems += problems_of(
            error, Run, file=RUNS, place=lambda key: draft.at(row, key), quoted=False
        )
