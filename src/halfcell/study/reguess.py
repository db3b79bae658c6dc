"""What a file that has become readable tells of itself, put where runs.csv still asks for it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from halfcell.errors import HalfcellError
from halfcell.study.edit_runs import RunsEdit
from halfcell.study.intake import Taken
from halfcell.study.intake_guess import guess_row
from halfcell.study.intake_names import name_parts
from halfcell.study.intake_shapes import shape_of
from halfcell.study.translate import BLANK

_COLUMNS = ("technique", "scan_rate", "step_potential", "concentration")


def reguess(folder: str | Path, files: Sequence[str], hints: Mapping[str, Any]) -> tuple[str, ...]:
    """Fill the empty cells of rows whose kind of record was not known, from the numbers and the names.

    Each guess is marked in the column ``guessed``; what stands in a cell stays. Gives the files
    whose rows were changed.
    """
    runs = RunsEdit(folder)
    changed = []
    for number, cells in runs.rows.items():
        file = cells.get("file", "")
        if file not in files or cells.get("technique") not in {"", BLANK}:
            continue
        taken = _taken(Path(folder), file, hints)
        if taken is None:
            continue
        row = guess_row(taken)
        found = {
            column: row.cells[column]
            for column in _COLUMNS
            if row.cells.get(column, BLANK) != BLANK and cells.get(column, "") in {"", BLANK}
        }
        if "technique" not in found:
            continue
        for column, value in found.items():
            runs.set(number, column, value)
        told = "; ".join(f"{column} from {row.guessed[column]}" for column in found if column in row.guessed)
        runs.set(number, "guessed", "; ".join(text for text in (cells.get("guessed", ""), told) if text))
        changed.append(file)
    if changed:
        runs.save()
    return tuple(changed)


def _taken(folder: Path, file: str, hints: Mapping[str, Any]) -> Taken | None:
    from halfcell.readers import read

    try:
        recording = read(folder / file, name=file, hints=hints)
    except (HalfcellError, OSError):
        return None
    source = file.partition("/")[2] or file
    return Taken(
        source=source, file=file, sha256=recording.sha256, size=0, kind="recording",
        parts=name_parts(source), shape=shape_of(recording),
    )  # fmt: skip
