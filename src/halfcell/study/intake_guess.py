"""From what names and numbers tell to the rows of runs.csv."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import PurePosixPath
from typing import TYPE_CHECKING

from halfcell.study.intake_names import pieces
from halfcell.study.intake_order import by_numbers, by_stamps
from halfcell.study.intake_words import LOG
from halfcell.study.known import Known, solution_named
from halfcell.study.translate import BLANK

if TYPE_CHECKING:
    from halfcell.study.intake import Taken

_SWEEPS = {"cyclic voltammogram", "linear sweep", "differential pulse", "square wave"}
_HELD = {"potential step", "additions"}
FROM_OTHERS = "the study's other files"
"""What a guess was made from, where the name stands for something else than it says by itself."""
_AGREE = 0.03
"""A scan rate from the data that agrees this well with the name's is the name's."""


@dataclass(slots=True)
class GuessedRow:
    """A row of runs.csv with what was guessed in it, and from what."""

    cells: dict[str, str]
    air: str = ""
    medium: str = ""
    guessed: dict[str, str] = field(default_factory=dict)
    """Column to what it was guessed from."""

    def guess(self, column: str, value: str, told_by: str) -> None:
        """Fill a cell and note where the value comes from."""
        if value:
            self.cells[column] = value
            self.guessed[column] = told_by

    @property
    def note(self) -> str:
        """The guesses as one text: "technique from the name; scan_rate from the data"."""
        by_source: dict[str, list[str]] = {}
        for column, told_by in self.guessed.items():
            by_source.setdefault(told_by, []).append(column)
        return "; ".join(f"{', '.join(columns)} from {told_by}" for told_by, columns in by_source.items())


def guess_rows(taken: Sequence[Taken], known: Known | None = None) -> tuple[GuessedRow, ...]:
    """One row a recording or micrograph, ordered by electrode, then by name as people count.

    What a study tells of its other files (``known``) goes before what the names alone would tell.
    """
    known = known or Known()
    recorded = [t for t in taken if t.kind in {"recording", "micrograph"}]
    short = known.short(t.parts.electrode for t in recorded if t.parts.electrode)
    logs = [*((t.source, t.file) for t in taken if t.kind == "log"), *known.logs]
    rows = []
    for t in recorded:
        guess = short.get(t.parts.electrode, "")
        electrode = known.electrode(t.parts.electrode, guess, t.source) if guess else ""
        rows.append(_row(t, electrode, logs, "the name" if electrode == guess else FROM_OTHERS))
    _solutions(rows, known)
    _orders(rows, {t.file: t for t in taken}, known)
    return tuple(sorted(rows, key=lambda row: _counted(row.cells["file"])))


def guess_row(taken: Taken) -> GuessedRow:
    """The row of one recording or micrograph by itself."""
    return _row(taken, taken.parts.electrode, ())


def _row(
    taken: Taken, electrode: str, logs: Sequence[tuple[str, str]], told_by: str = "the name"
) -> GuessedRow:
    parts, shape = taken.parts, taken.shape
    row = GuessedRow({"file": taken.file}, air=parts.air, medium=parts.medium)
    row.guess("electrode", electrode, told_by)
    row.cells.setdefault("electrode", BLANK)
    if taken.kind == "micrograph":
        row.cells["technique"] = "micrograph"
        return row
    technique, told_by = _technique(taken)
    row.guess("technique", technique, told_by)
    row.cells.setdefault("technique", BLANK)
    if technique == "deposition":
        return row
    if technique in _SWEEPS:
        _scan_rate(row, taken)
        if shape is not None and shape.cycles > 1:
            row.cells["note"] = f"{shape.cycles} cycles"
    if technique in _HELD and shape is not None and math.isfinite(shape.held_at):
        row.guess("step_potential", f"{shape.held_at:.4g} V", "the data")
    if technique == "additions":
        row.guess("log", _log_for(taken, logs), "the name")
    elif parts.concentration:
        row.guess("concentration", parts.concentration, "the name")
    elif parts.blank:
        row.guess("concentration", "0 mol/L", "the name")
    else:
        row.guessed["concentration"] = "nothing (an empty cell means a blank)"
    return row


def _technique(taken: Taken) -> tuple[str, str]:
    """The name's word where the numbers allow it, else what the numbers look like."""
    named, shape = taken.parts.technique, taken.shape
    if named == "micrograph":
        named = ""
    if shape is None or not shape.technique:
        return named, "the name"
    swept = shape.technique in _SWEEPS
    if named and (named in _SWEEPS) == swept:
        if {named, shape.technique} == {"cyclic voltammogram", "linear sweep"}:
            return shape.technique, shape.told_by
        return named, "the name"
    return shape.technique, shape.told_by


def _scan_rate(row: GuessedRow, taken: Taken) -> None:
    stated = taken.parts.scan_rate
    measured = taken.shape.scan_rate if taken.shape is not None else float("nan")
    if stated:
        number, unit = stated.split()
        value = float(number) * (1e-3 if unit == "mV/s" else 1.0)
        if not math.isfinite(measured) or abs(measured / value - 1) <= _AGREE:
            row.guess(
                "scan_rate", stated, "the name" if not math.isfinite(measured) else "the name and the data"
            )
            return
        row.guess("scan_rate", _rate_text(measured), f"the data (the name says {stated})")
    elif math.isfinite(measured):
        row.guess("scan_rate", _rate_text(measured), "the data")


def _rate_text(rate: float) -> str:
    """A measured rate, rounded to two digits where that changes it by less than half a percent."""
    rate *= 1e3
    for digits in (1, 2, 3):
        rounded = float(f"{rate:.{digits}g}")
        if abs(rounded / rate - 1) < 0.005:
            break
    return f"{rounded:g} mV/s"


def _log_for(taken: Taken, logs: Sequence[tuple[str, str]]) -> str:
    return next((file for source, file in logs if is_log_of(source, taken.source)), "")


def is_log_of(log: str, record: str) -> bool:
    """Whether a log is named as a record is, words for a log aside."""
    marks, name = r"[_\-\s.]*", PurePosixPath(log).stem.casefold()
    return (
        re.sub(rf"{marks}({'|'.join(sorted(LOG))}){marks}", "", name) == PurePosixPath(record).stem.casefold()
    )


def _solutions(rows: Sequence[GuessedRow], known: Known) -> None:
    """A solution by what the names tell of the electrolyte and of air; without any such word there is one."""
    for row in rows:
        if row.cells["technique"] in {"micrograph", "deposition"}:
            continue
        told = bool(row.air or row.medium)
        found = known.solution(solution_named(row.medium, row.air), told=told)
        if found == BLANK:
            row.cells["solution"] = BLANK
            continue
        why = "the name" if told else "nothing (one solution is assumed)"
        row.guess("solution", found, FROM_OTHERS if found in known.solutions else why)


def _orders(rows: Sequence[GuessedRow], taken: Mapping[str, Taken], known: Known) -> None:
    """The order of the records of each electrode, where all of them tell it in one way; behind those the study has."""
    by_electrode: dict[str, list[GuessedRow]] = {}
    for row in rows:
        if row.cells["technique"] != "micrograph" and row.cells["electrode"] != BLANK:
            by_electrode.setdefault(row.cells["electrode"], []).append(row)
    for electrode, mine in by_electrode.items():
        highest = known.orders.get(electrode, 0)
        if highest is None or len(mine) + highest < 2:
            continue
        files = [taken[row.cells["file"]] for row in mine]
        told = "the time in the header"
        places = by_stamps([t.header for t in files])
        shift = highest
        if not places:
            told = "the number in the name"
            places = by_numbers(
                " ".join(text for kind, text in pieces(PurePosixPath(t.source).stem) if kind == "counter")
                for t in files
            )
            shift = highest if places and min(places) <= highest else 0
        for row, place in zip(mine, places, strict=False):
            row.guess("order", str(place + shift), f"{told}, behind the earlier ones" if highest else told)


def _counted(name: str) -> tuple[tuple[int, object], ...]:
    """A key that puts "Ni-2" before "Ni-10"."""
    return tuple((0, int(p)) if p.isdigit() else (1, p.casefold()) for p in re.split(r"(\d+)", name) if p)
