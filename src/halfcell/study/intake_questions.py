"""What the rows of runs.csv leave to be asked."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from pathlib import PurePosixPath
from typing import TYPE_CHECKING

from halfcell.study.translate import BLANK
from halfcell.study.words import listed

if TYPE_CHECKING:
    from halfcell.study.intake import Taken
    from halfcell.study.intake_guess import GuessedRow

_QUESTIONS: tuple[tuple[str, str, Callable[[GuessedRow], bool]], ...] = (
    ("electrode", "which electrode is it?", lambda row: row.cells["electrode"] == BLANK),
    ("technique", "which kind of record is it?", lambda row: row.cells["technique"] == BLANK),
    ("solution", "in which solution was it taken?", lambda row: row.cells.get("solution") == BLANK),
    (
        "scan_rate",
        "at which scan rate?",
        lambda row: (
            row.cells["technique"] in {"cyclic voltammogram", "linear sweep"}
            and not row.cells.get("scan_rate")
        ),
    ),
    (
        "concentration",
        "how much analyte was in the solution? Nothing in the name tells; empty means a blank.",
        lambda row: row.guessed.get("concentration", "").startswith("nothing"),
    ),
    (
        "step_potential",
        "at which potential?",
        lambda row: (
            row.cells["technique"] in {"additions", "potential step"} and not row.cells.get("step_potential")
        ),
    ),
    (
        "log",
        "when was how much of which solution added? A CSV file with time, volume, concentration.",
        lambda row: row.cells["technique"] == "additions" and not row.cells.get("log"),
    ),
)
"""Column, question, and whether a row leaves it open."""


def row_questions(taken: Sequence[Taken], rows: Sequence[GuessedRow]) -> list[str]:
    """One sentence a column that only a person can fill, with the first files it is about."""
    asked = [
        _asked(column, sentence, [row.cells["file"] for row in rows if left_open(row)])
        for column, sentence, left_open in _QUESTIONS
    ]
    unscaled = [t.file for t in taken if t.kind == "micrograph" and not math.isfinite(t.scale)]
    asked.append(_asked("scale", "how long is a pixel, such as 1.5 nm?", unscaled))
    asked += [
        f"{t.file}: it is no record that can be read and was put aside; is it needed?"
        for t in taken
        if t.kind == "other" and t.problem
    ]
    return [sentence for sentence in asked if sentence]


def _asked(column: str, sentence: str, files: Sequence[str]) -> str:
    if not files:
        return ""
    return f"runs.csv, column {column}: {sentence} ({listed((PurePosixPath(f).name for f in files), 4)})"
