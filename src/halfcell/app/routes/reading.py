"""How a file is read: its raw lines beside the guessed table, corrected by pointing."""

from __future__ import annotations

import re
from fnmatch import fnmatch
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import BaseModel, ConfigDict, Field

from halfcell.app.pages import page
from halfcell.errors import StudyError

if TYPE_CHECKING:
    from halfcell.app.desk import Desk
    from halfcell.readers import Preview

router = APIRouter()

ROLES = ("time", "potential", "current", "cycle", "forward", "backward")


class Reading(BaseModel):
    """A correction: the files it is for, and how they are read."""

    model_config = ConfigDict(extra="forbid")
    files: str = Field(min_length=1, max_length=200)
    columns: dict[str, int] = Field(default_factory=dict)
    units: dict[str, str] = Field(default_factory=dict)
    delimiter: str = ""
    decimal: str = ""
    skip: int | None = Field(None, ge=0)


@router.get("/reading")
def reading(request: Request, file: str) -> Response:
    """A file's first lines, and what was made of them."""
    desk: Desk = request.app.state.desk
    shown = look(desk, file, {})
    return page(
        request,
        "reading.html",
        place="Start",
        file=file,
        shown=shown,
        roles=ROLES,
        pattern=siblings(Path(file).name),
    )


@router.post("/reading/try")
def attempt(request: Request, asked: Reading, file: str) -> dict[str, Any]:
    """What the file would be read as; nothing is written."""
    desk: Desk = request.app.state.desk
    shown = look(desk, file, _hints(asked))
    same = [p.name for p in _data(desk) if fnmatch(p.name, asked.files)]
    return {
        "problem": shown.problem,
        "columns": [
            {"number": c.number, "heading": c.heading, "unit": c.unit, "role": c.role} for c in shown.columns
        ],
        "assumed": list(shown.assumed),
        "samples": shown.samples,
        "cycles": shown.cycles,
        "files": len(same),
    }


@router.post("/reading/keep")
def keep(request: Request, asked: Reading) -> dict[str, str]:
    """Write the correction into study.toml for the file and its siblings."""
    from halfcell.study.edit import StudyEdit

    desk: Desk = request.app.state.desk
    if desk.folder is None:
        raise StudyError("No study is open.")
    edit = StudyEdit(desk.folder)
    stem = re.sub(r"\W+", "-", asked.files).strip("-") or "files"
    name, n = stem, 2
    while edit.get(("readers", name)) is not None:
        name, n = f"{stem}-{n}", n + 1
    edit.add_reader(name, {"files": asked.files} | _hints(asked))
    edit.save(unfinished=True)
    desk.refresh()
    return {"go": "/"}


def look(desk: Desk, file: str, hints: dict[str, Any]) -> Preview:
    """The preview of one of the study's own files. Raises StudyError for any other."""
    from halfcell.readers import preview

    known = {p.relative_to(desk.folder).as_posix(): p for p in _data(desk)} if desk.folder else {}
    if file not in known:
        raise StudyError(f"{file!r} is not a raw file of this study.")
    return preview(known[file], hints, name=file)


def siblings(name: str) -> str:
    """A pattern that takes in files named alike: every number becomes a star."""
    stem, dot, ending = name.rpartition(".")
    starred = re.sub(r"\d+(?:[.,]\d+)?", "*", re.sub(r"([\[\]?*])", "?", stem or ending))
    return f"{starred}.{ending}" if dot and stem else starred


def _data(desk: Desk) -> list[Path]:
    root = desk.folder / "data" if desk.folder else None
    if root is None or not root.is_dir():
        return []
    return [
        p
        for p in sorted(root.rglob("*"))
        if p.is_file() and not p.is_symlink() and root in p.resolve().parents
    ]


def _hints(asked: Reading) -> dict[str, Any]:
    hints: dict[str, Any] = {"columns": asked.columns, "units": {k: v for k, v in asked.units.items() if v}}
    hints |= {"delimiter": asked.delimiter, "decimal": asked.decimal, "skip": asked.skip}
    return {k: v for k, v in hints.items() if v not in ("", None, {})}
