"""From what names and numbers tell to the rows of runs.csv."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import PurePosixPath
from typing import TYPE_CHECKING

from halfcell.study.intake_names import pieces, shared_lead_removed
from halfcell.study.intake_order import by_numbers, by_stamps
from halfcell.study.intake_words import LOG
from halfcell.study.translate import BLANK

if TYPE_CHECKING:
    from halfcell.study.intake import Taken

_SWEEPS = {"cyclic voltammogram", "linear sweep", "differential pulse", "square wave"}
_HELD = {"potential step", "additions"}
AIR_WORDS = {"air": "-air", "removed": "-deaerated", "": ""}
"""What the name of a solution ends with, by what file names tell of air."""
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


def guess_rows(taken: Sequence[Taken]) -> tuple[GuessedRow, ...]:
    """One row a recording or micrograph, ordered by electrode, then by name as people count."""
    electrodes = shared_lead_removed(
        t.parts.electrode for t in taken if t.parts.electrode and t.kind in {"recording", "micrograph"}
    )
    logs = [t for t in taken if t.kind == "log"]
    rows = [_row(t, electrodes, logs) for t in taken if t.kind in {"recording", "micrograph"}]
    _solutions(rows)
    _orders(rows, {t.file: t for t in taken})
    return tuple(sorted(rows, key=lambda row: _counted(row.cells["file"])))


def guess_row(taken: Taken) -> GuessedRow:
    """The row of one recording or micrograph by itself."""
    return _row(taken, {}, ())


def _row(taken: Taken, electrodes: dict[str, str], logs: Sequence[Taken]) -> GuessedRow:
    parts, shape = taken.parts, taken.shape
    row = GuessedRow({"file": taken.file}, air=parts.air, medium=parts.medium)
    row.guess("electrode", electrodes.get(parts.electrode, parts.electrode), "the name")
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


def _log_for(taken: Taken, logs: Sequence[Taken]) -> str:
    stem, marks = PurePosixPath(taken.source).stem.casefold(), r"[_\-\s.]*"
    for log in logs:
        name = PurePosixPath(log.source).stem.casefold()
        if re.sub(rf"{marks}({'|'.join(sorted(LOG))}){marks}", "", name) == stem:
            return log.file
    return ""


def _solutions(rows: Sequence[GuessedRow]) -> None:
    """A solution by what the names tell of the electrolyte and of air; without any such word there is one."""
    for row in rows:
        if row.cells["technique"] in {"micrograph", "deposition"}:
            continue
        told = "the name" if row.air or row.medium else "nothing (one solution is assumed)"
        row.guess("solution", (row.medium or "electrolyte") + AIR_WORDS[row.air], told)


def _orders(rows: Sequence[GuessedRow], taken: Mapping[str, Taken]) -> None:
    """The order of the records of each electrode, where all of them tell it in one way."""
    by_electrode: dict[str, list[GuessedRow]] = {}
    for row in rows:
        if row.cells["technique"] != "micrograph" and row.cells["electrode"] != BLANK:
            by_electrode.setdefault(row.cells["electrode"], []).append(row)
    for mine in by_electrode.values():
        if len(mine) < 2:
            continue
        files = [taken[row.cells["file"]] for row in mine]
        told = "the time in the header"
        places = by_stamps([t.header for t in files])
        if not places:
            told = "the number in the name"
            places = by_numbers(
                " ".join(text for kind, text in pieces(PurePosixPath(t.source).stem) if kind == "counter")
                for t in files
            )
        for row, place in zip(mine, places, strict=False):
            row.guess("order", str(place), told)


def _counted(name: str) -> tuple[tuple[int, object], ...]:
    """A key that puts "Ni-2" before "Ni-10"."""
    return tuple((0, int(p)) if p.isdigit() else (1, p.casefold()) for p in re.split(r"(\d+)", name) if p)
