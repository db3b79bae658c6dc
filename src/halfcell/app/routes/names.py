"""Which file is what: the parts of the names as a grid, said once a column or edited cell by cell."""

from __future__ import annotations

from pathlib import PurePosixPath
from typing import TYPE_CHECKING, Any, get_args

from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import BaseModel, ConfigDict, Field

from halfcell.app.clash import Clash, clash_error
from halfcell.app.pages import page
from halfcell.errors import StudyError

if TYPE_CHECKING:
    from pathlib import Path

    from halfcell.app.desk import Desk
    from halfcell.study.name_grid import NamePart
    from halfcell.study.regroup import Cell

router = APIRouter()

COLUMNS = {
    "electrode": "Electrode",
    "technique": "Kind of record",
    "solution": "Solution",
    "concentration": "Concentration",
    "scan_rate": "Scan rate",
    "order": "Order",
    "sample": "Sample",
}
MADE = {"material": "Material", "role": "Role", "recipe": "Recipe", "batch": "Batch"}


class Meanings(BaseModel):
    """What each part of the names means."""

    model_config = ConfigDict(extra="forbid")
    meanings: dict[str, str] = Field(max_length=60)


class Changed(BaseModel):
    """A cell of the grid."""

    model_config = ConfigDict(extra="forbid")
    file: str = Field(max_length=1000)
    column: str = Field(max_length=40)
    was: str = Field(max_length=1000)
    value: str = Field(max_length=1000)


class Keep(BaseModel):
    """All that a person changed in the grid."""

    model_config = ConfigDict(extra="forbid")
    cells: list[Changed] = Field(default_factory=list, max_length=100_000)
    left_out: list[str] = Field(default_factory=list, max_length=20_000)
    electrodes: dict[str, dict[str, str]] = Field(default_factory=dict)
    checked: bool = False


@router.get("/names")
def names(request: Request) -> Response:
    """The grid of names."""
    return page(request, "names.html", place="Names", start=grid(request.app.state.desk))


@router.post("/names/try")
def attempt(request: Request, asked: Meanings) -> dict[str, Any]:
    """The cells that such meanings give, by file; nothing is written."""
    from halfcell.study.name_grid import MEANINGS, cells_of

    unknown = sorted(set(asked.meanings.values()) - set(MEANINGS))
    if unknown:
        raise StudyError(f"{unknown[0]!r} is not a meaning that a part of a name can have.")
    rows, parts = _rows(request.app.state.desk)
    found, made = {}, {}
    for i, cells in enumerate(rows):
        found[cells["file"]], keys = cells_of(parts, asked.meanings, i)
        if keys and (name := found[cells["file"]].get("electrode")):
            made[name] = keys
    return {"cells": found, "electrodes": made}


@router.post("/names/keep")
def keep(request: Request, asked: Keep) -> dict[str, Any]:
    """Write the grid into runs.csv and study.toml; answers when it is on disk."""
    from halfcell.study.regroup import Cell, Regrouping, regroup

    desk: Desk = request.app.state.desk
    wrong = [c.column for c in asked.cells if c.column not in COLUMNS]
    if wrong:
        raise StudyError(f"{wrong[0]!r} is not a column of this grid.")
    cells = tuple(
        Cell(file=c.file, column=c.column, was=c.was, value=" ".join(c.value.split())) for c in asked.cells
    )
    change = Regrouping(
        cells=cells,
        left_out=tuple(asked.left_out),
        electrodes=asked.electrodes,
        checked=asked.checked,
    )
    with desk.edit() as folder:
        clashes = _clashes(folder, cells)
        if clashes:
            raise clash_error(clashes)
        regroup(folder, change)
    return {"edition": desk.edition(), "go": "/questions"}


def _clashes(folder: Path, cells: tuple[Cell, ...]) -> list[Clash]:
    """Cells that others changed since the page showed them."""
    from halfcell.study.edit_runs import RunsEdit

    now = {row.get("file", ""): row for row in RunsEdit(folder).rows.values()}
    return [
        Clash(
            at=f"{c.file}\t{c.column}",
            what=f"{COLUMNS[c.column].lower()} of {c.file}",
            yours=c.value,
            now=now[c.file].get(c.column, ""),
        )
        for c in cells
        if c.file in now and now[c.file].get(c.column, "") not in {c.was, c.value}
    ]


def grid(desk: Desk) -> dict[str, Any]:
    """All that the grid draws: rows, parts with what they are taken for, electrodes, and what may be chosen."""
    from halfcell.study.edit import StudyEdit
    from halfcell.study.model import Electrode, Technique
    from halfcell.study.name_grid import MEANINGS

    rows, parts = _rows(desk)
    edit = StudyEdit(str(desk.folder))
    electrodes = edit.get("electrodes") or {}
    solutions = edit.get("solutions") or {}
    return {
        "parts": [
            {"key": p.key, "title": p.title, "meaning": p.meaning, "values": list(p.values)} for p in parts
        ],
        "meanings": list(MEANINGS.items()),
        "columns": list(COLUMNS.items()),
        "rows": [
            {
                "file": cells["file"],
                "name": "/".join(PurePosixPath(cells["file"]).parts[1:]) or cells["file"],
                "cells": {column: cells.get(column, "") for column in COLUMNS},
                "guessed": cells.get("guessed", ""),
            }
            for cells in rows
        ],
        "techniques": list(get_args(Technique)),
        "solutions": list(solutions),
        "made": list(MADE.items()),
        "roles": list(get_args(Electrode.model_fields["role"].annotation)),
        "electrodes": {
            name: {key: str(table.get(key, "")) for key in MADE}
            for name, table in electrodes.items()
            if isinstance(table, dict)
        },
    }


def _rows(desk: Desk) -> tuple[list[dict[str, str]], tuple[NamePart, ...]]:
    from halfcell.study.edit_runs import RunsEdit
    from halfcell.study.name_grid import name_grid

    if desk.folder is None:
        raise StudyError("No study is open. Choose a folder, or start a new study.")
    rows = [cells for cells in RunsEdit(desk.folder).rows.values() if cells.get("file")]
    return rows, name_grid([cells["file"] for cells in rows])
