"""Check that the raw files can be read as what they are said to be, and hold what is needed of them."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from fnmatch import fnmatchcase
from pathlib import PurePosixPath
from typing import Any

from halfcell.errors import HalfcellError, Problem, StudyError, UnitError, without_name
from halfcell.study.check_files import inside, present
from halfcell.study.draft import RUNS, STUDY, Draft
from halfcell.study.model import Run
from halfcell.study.table import Row, read_table
from halfcell.study.translate import BLANK
from halfcell.study.words import listed, meant
from halfcell.units import parse

Progress = Callable[[str, int, int], None]
LOG_COLUMNS = {"time": ("s", "60 s"), "volume": ("m^3", "10 uL"), "concentration": ("mol/m^3", "10 mmol/L")}


def check_raw(draft: Draft, progress: Progress | None = None) -> Iterator[Problem]:
    """Every raw file that cannot be read, with the keys that tell how; rows that need what no file holds."""
    for done, row in enumerate(draft.rows):
        if progress is not None:
            progress("Reading raw files", done + 1, len(draft.rows))
        run = draft.runs.get(row.number)
        if run is None:
            continue
        if _there(draft, run.file):
            try:
                yield from (
                    _micrograph(draft, row, run)
                    if run.technique == "micrograph"
                    else _recording(draft, row, run)
                )
            except HalfcellError as error:
                yield from _said(draft, run, error)
        if run.log and _there(draft, run.log):
            yield from _log(draft, run.log)


def _there(draft: Draft, path: str) -> bool:
    return inside(path, draft.root) is None and present(draft.root, path)


def _said(draft: Draft, run: Run, error: HalfcellError) -> Iterator[Problem]:
    key = _reader_key(draft, run)
    table = draft.toml.document.get("readers", {}).get(key, {}) if key else {}
    if BLANK in [v for part in ("columns", "units") for v in dict(table.get(part) or {}).values()]:
        return  # the blanks of [readers] are asked for already
    where = f" ([readers.{key}] of {STUDY} was followed)" if key else ""
    for problem in error.problems or (Problem(file=run.file, what=str(error)),):
        what = without_name(problem.what, problem.file).rstrip(".") + where + "."
        yield replace(problem, what=what, severity="error")


def _reader_key(draft: Draft, run: Run) -> str:
    readers = draft.toml.document.get("readers")
    name = PurePosixPath(run.file).name
    for key, table in readers.items() if isinstance(readers, dict) else ():
        if isinstance(table, dict) and fnmatchcase(name, str(table.get("files", "*"))):
            return str(key)
    return ""


def _hints(draft: Draft, run: Run) -> dict[str, Any]:
    """What [readers] says about the file of a run, as far as it is right."""
    from pydantic import ValidationError

    from halfcell.study.model import ReaderSettings

    key = _reader_key(draft, run)
    if not key:
        return {}
    try:
        return ReaderSettings.model_validate(draft.toml.document["readers"][key]).model_dump()
    except ValidationError:
        return {}


def _recording(draft: Draft, row: Row, run: Run) -> Iterator[Problem]:
    from halfcell.readers import read

    recording = read(draft.root / run.file, name=run.file, hints=_hints(draft, run))
    swept = run.technique in {"cyclic voltammogram", "linear sweep"}
    if swept and recording.potential is None:
        what = f"{run.file} holds no potential, so it is no {run.technique}."
        yield Problem(file=RUNS, place=draft.at(row, "technique"), what=what, example="potential step")
    elif swept and recording.time is None and run.scan_rate is None:
        what = (
            f"{run.file} holds no time and the row states no scan rate; nothing that needs it can be given."
        )
        yield Problem(
            file=RUNS, place=draft.at(row, "scan_rate"), what=what, example="50 mV/s", severity="warning"
        )
    elif (
        not swept
        and recording.time is None
        and run.technique in {"potential step", "additions", "deposition"}
    ):
        what = f"{run.file} holds no time, so it is no record of the kind {run.technique!r}."
        yield Problem(file=RUNS, place=draft.at(row, "technique"), what=what, example="cyclic voltammogram")


def _micrograph(draft: Draft, row: Row, run: Run) -> Iterator[Problem]:
    from halfcell.readers import read_image

    image = read_image(draft.root / run.file, name=run.file, metres_per_pixel=run.scale)
    if not math.isfinite(image.metres_per_pixel):
        what = "the micrograph has no scale, here or in the image; sizes cannot be given."
        yield Problem(
            file=RUNS, place=draft.at(row, "scale"), what=what, example="1.5 nm", severity="warning"
        )


def _log(draft: Draft, path: str) -> Iterator[Problem]:
    """An addition log: needs its three columns, each cell with its unit."""
    example = "time,volume,concentration / 60 s,10 uL,10 mmol/L"
    try:
        table = read_table((draft.root / path).read_bytes(), LOG_COLUMNS)
    except (StudyError, OSError) as error:
        yield Problem(file=path, what=f"the addition log cannot be read: {error}", example=example)
        return
    for name in LOG_COLUMNS:
        if name not in table.columns:
            near = meant(name, table.columns)
            hint = f" ({listed(table.headings)})" if near.startswith("known") else f"; {near}"
            yield Problem(
                file=path, place="headings", what=f"the column {name!r} is missing{hint}", example=example
            )
    for row in table.rows:
        for name, (unit, shown) in LOG_COLUMNS.items():
            if name not in table.columns:
                continue
            try:
                parse(row.cells.get(name, ""), unit, example=shown)
            except UnitError as error:
                what = str(error).partition("; write it")[0].rstrip(".") + "."
                yield Problem(file=path, place=f"row {row.number}, column {name}", what=what, example=shown)
