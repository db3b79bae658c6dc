"""What study.toml, runs.csv and intake.csv say once further files are in a study; nothing is written here."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase
from pathlib import PurePosixPath
from typing import TYPE_CHECKING, Any

from halfcell.errors import StudyError
from halfcell.study.adding_files import INTAKE, records
from halfcell.study.atomic import content
from halfcell.study.draft import RUNS, STUDY
from halfcell.study.edit_runs import RunsEdit
from halfcell.study.insert import with_tables
from halfcell.study.intake_guess import guess_rows, is_log_of
from halfcell.study.intake_questions import row_questions
from halfcell.study.intake_readers import reader_tables
from halfcell.study.intake_write import (
    COLUMNS,
    RECORDED,
    electrode_tables,
    new_electrodes,
    new_solutions,
    oxygen_table,
    recorded,
    row_guesses,
    solution_tables,
    volume_table,
)
from halfcell.study.known import Known, known_of
from halfcell.study.table import encoded
from halfcell.study.words import count

if TYPE_CHECKING:
    from halfcell.study.draft import Draft
    from halfcell.study.intake import Taken
    from halfcell.study.intake_guess import GuessedRow


@dataclass(frozen=True, slots=True, kw_only=True)
class Texts:
    """The bytes of the three files before and after, and what is to be said of it."""

    toml_before: bytes | None
    toml: bytes
    runs_before: bytes | None
    runs: bytes
    intake_before: bytes | None
    intake: bytes
    guesses: tuple[str, ...]
    questions: tuple[str, ...]
    electrodes: tuple[str, ...]
    solutions: tuple[str, ...]
    rows: int


def texts(draft: Draft, taken: Sequence[Taken]) -> Texts:
    """Guess the rows of new files from what the study knows, and write them into its own texts.

    Raises StudyError where a text has a form to which nothing can be added.
    """
    table = records(draft.root)
    sources = {r.cells.get("file", ""): r.cells.get("copied_from", "") for r in table.rows} if table else {}
    document = draft.toml.document
    logs = [r.cells.get("file", "") for r in table.rows if r.cells.get("kind") == "log"] if table else []
    known = known_of(
        document, [row.cells for row in draft.rows], {f: s for f, s in sources.items() if s}, logs
    )
    rows = guess_rows(taken, known)
    before = content(draft.root / STUDY)
    toml, questions = _toml((before or b"").decode("utf-8-sig"), document, taken, rows, known, draft)
    mark = b"\xef\xbb\xbf" if (before or b"").startswith(b"\xef\xbb\xbf") else b""
    runs_before, runs = _runs(draft, rows)
    intake_before, intake = _intake(draft, taken)
    return Texts(
        toml_before=before,
        toml=mark + toml.encode(),
        runs_before=runs_before,
        runs=runs,
        intake_before=intake_before,
        intake=intake,
        guesses=(*_read_as(document, taken), *row_guesses(rows)),
        questions=(*questions, *row_questions(taken, rows), *_logs_asked(draft, taken, sources)),
        electrodes=tuple(new_electrodes(rows, known)),
        solutions=tuple(new_solutions(rows, known)),
        rows=len(rows),
    )


def _toml(
    text: str,
    document: Mapping[str, Any],
    taken: Sequence[Taken],
    rows: Sequence[GuessedRow],
    known: Known,
    draft: Draft,
) -> tuple[str, list[str]]:
    """study.toml with the tables that are new, and what is asked in them."""
    readers = document.get("readers") or {}
    recordings = [row.cells.get("file", "") for row in draft.rows]
    _told_apart(taken, recordings)
    # The first table that fits a name counts: one for files that an older table speaks of stands before it.
    first = any(_reader(readers, t.file) for t in taken if t.problem)
    parts = {
        "solutions": solution_tables(rows, known),
        "confounders": oxygen_table(rows, known)
        if "oxygen" not in document.get("confounders", {})
        else ([], []),
        "analysis": volume_table(rows) if _no_volume(document) else ([], []),
        "electrodes": electrode_tables(rows, known),
        "readers": reader_tables(taken, recordings, readers),
    }
    questions = []
    for kind, (lines, asked) in parts.items():
        text = with_tables(text, kind, lines, first=first and kind == "readers")
        questions += asked
    return text, questions


def _no_volume(document: Mapping[str, Any]) -> bool:
    return "start_volume" not in document.get("analysis", {}).get("amperometry", {})


def _told_apart(taken: Sequence[Taken], recordings: Sequence[str]) -> None:
    names = {PurePosixPath(file).name: file for file in recordings}
    for t in taken:
        name = PurePosixPath(t.file).name
        if t.kind == "recording" and t.problem and name in names:
            raise StudyError(
                f"{t.source!r} cannot be understood by itself, and {names[name]!r} has the same name; [readers] goes by "
                "the name alone, so rename the new file."
            )


def _reader(readers: Mapping[str, Any], file: str) -> str:
    name = PurePosixPath(file).name
    return next(
        (
            k
            for k, t in readers.items()
            if isinstance(t, dict) and fnmatchcase(name, str(t.get("files", "*")))
        ),
        "",
    )


def _read_as(document: Mapping[str, Any], taken: Sequence[Taken]) -> list[str]:
    """Which tables of [readers] were followed, and for how many files."""
    found: dict[str, int] = {}
    for t in taken:
        if (
            t.kind == "recording"
            and not t.problem
            and (key := _reader(document.get("readers") or {}, t.file))
        ):
            found[key] = found.get(key, 0) + 1
    return [f"study.toml, readers.{key}: {count(n, 'file')} read as it says." for key, n in found.items()]


def _logs_asked(draft: Draft, taken: Sequence[Taken], sources: Mapping[str, str]) -> list[str]:
    """Earlier additions without a log for which one has come now."""
    return [
        f"runs.csv, row {row.number}, column log: is {log.file} the log of {row.cells['file']}?"
        for row in draft.rows
        if row.cells.get("technique") == "additions" and not row.cells.get("log")
        for log in taken
        if log.kind == "log" and is_log_of(log.source, sources.get(row.cells["file"]) or row.cells["file"])
    ]


def _runs(draft: Draft, rows: Sequence[GuessedRow]) -> tuple[bytes | None, bytes]:
    """runs.csv in its own dialect with the rows added."""
    before = content(draft.root / RUNS)
    runs = RunsEdit(draft.root)
    for row in rows:
        cells = {**row.cells, "guessed": row.note}
        runs.add({column: cells[column] for column in COLUMNS if cells.get(column)})
    named = {cells.get("file") for cells in runs.rows.values()}
    if lost := [row.cells["file"] for row in rows if row.cells["file"] not in named]:
        raise StudyError(f"{lost[0]!r} cannot be written as a row of {RUNS}; rename the file.")
    return before, runs.data if rows else (before or b"")


def _intake(draft: Draft, taken: Sequence[Taken]) -> tuple[bytes | None, bytes]:
    """intake.csv with a line a file; made where there is none."""
    before = content(draft.root / INTAKE)
    table = records(draft.root)
    known = {(r.cells.get("file"), r.cells.get("sha256")) for r in table.rows} if table else set()
    lines = [recorded(t) for t in taken if (t.file, t.sha256) not in known]
    out = io.StringIO()
    columns = table.columns if table else RECORDED
    newline = table.newline if table else "\n"
    writer = csv.writer(out, delimiter=table.delimiter if table else ",", lineterminator=newline)
    if table is None:
        writer.writerow(columns)
    writer.writerows([line.get(column, "") for column in columns] for line in lines)
    if table is None or before is None:
        return before, out.getvalue().encode()
    if not lines:
        return before, before
    text = before.decode(table.encoding, errors="replace")
    joint = "" if text.endswith(("\n", "\r")) else newline
    return before, encoded(text + joint + out.getvalue(), table.encoding)
