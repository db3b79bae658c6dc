"""How files are read: their layouts, their raw lines beside the guessed table, corrected by pointing."""

from __future__ import annotations

import json
import time
from pathlib import PurePosixPath
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from fastapi.responses import Response, StreamingResponse
from pydantic import BaseModel, ConfigDict, Field

from halfcell.app import looking
from halfcell.app.filing import recordings
from halfcell.app.pages import page
from halfcell.errors import StudyError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from halfcell.app.desk import Desk

router = APIRouter()

_TRIED = 60
"""Siblings that are read anew while a person points; the others are read when it is kept."""
_AT_ONCE = 25, 20_000_000
"""Files and bytes that a page reads before it answers; for more there is a bar."""
_FRESH = 30.0
"""Seconds for which a look that went through to its end counts, whatever is written into the files meanwhile."""


class Reading(BaseModel):
    """A correction: how a file is read, and the further files it is for."""

    model_config = ConfigDict(extra="forbid")
    files: list[str] = Field(default_factory=list, max_length=10_000)
    columns: dict[str, int | str] = Field(default_factory=dict)
    units: dict[str, str] = Field(default_factory=dict)
    delimiter: str = Field("", max_length=10)
    decimal: str = Field("", max_length=2)
    skip: int | None = Field(None, ge=0)


@router.get("/files")
def files(request: Request, added: bool = False) -> Response:
    """Every file of the study by its layout, what was made of it, and what was put aside; the files ``added`` last first.

    Where many are to be read first, a bar.
    """
    from halfcell.app.filing import filed, unread
    from halfcell.app.routes.add import latest

    desk: Desk = request.app.state.desk
    if desk.folder is None:
        raise StudyError("No study is open. Choose a folder, or start a new study.")
    if (waits := _bar(request, unread(desk)[0], "/files/look")) is not None:
        return waits
    new = latest(request) if added else None
    return page(
        request,
        "files.html",
        place="Files",
        filed=filed(desk, new=new.files if new else frozenset()),
        new=new,
    )


def _bar(request: Request, waiting: list[looking.Unread], way: str) -> Response | None:
    """A page with a bar that reads the files and then makes way for the page that was asked for, or None where that is quick."""
    size = sum(one.path.stat().st_size for one in waiting if one.path.exists())
    ended = getattr(request.app.state, "looked", {}).get((request.app.state.desk.folder, way), -_FRESH)
    if (len(waiting) <= _AT_ONCE[0] and size <= _AT_ONCE[1]) or time.monotonic() - ended < _FRESH:
        return None
    return page(request, "looking.html", place="Files", way=way, count=len(waiting))


@router.get("/files/look")
def look(request: Request) -> Response:
    """Read what the list of files needs, a line of JSON a file; whoever leaves ends it."""
    from halfcell.app.filing import unread

    return _looking(request, "/files/look", *unread(request.app.state.desk))


@router.get("/reading/look")
def look_alike(request: Request) -> Response:
    """The same for what tells which files are laid out alike."""
    desk: Desk = request.app.state.desk
    data = recordings(desk)
    return _looking(request, "/reading/look", looking.unread(desk, data, kept=False), len(data))


def _looking(request: Request, way: str, waiting: list[looking.Unread], of: int) -> Response:
    def told() -> Iterator[str]:
        for step, done, all_ in looking.look(waiting, of):
            yield json.dumps({"step": step, "done": done, "of": all_}) + "\n"
        state = request.app.state
        state.looked = getattr(state, "looked", {}) | {(state.desk.folder, way): time.monotonic()}
        yield json.dumps({"read": True}) + "\n"

    return StreamingResponse(told(), media_type="application/x-ndjson")


@router.get("/reading")
def reading(request: Request, file: str) -> Response:
    """A file's first lines, and what was made of them."""
    from halfcell.study.edit import StudyEdit
    from halfcell.study.edit_readers import in_force

    desk: Desk = request.app.state.desk
    path = looking.own(desk, file)
    alike = looking.unread(desk, recordings(desk), kept=False)
    if (waits := _bar(request, alike, "/reading/look")) is not None:
        return waits
    kept, hints = in_force(StudyEdit(str(desk.folder)), file)
    start = looking.page_of(path, file, hints) | {
        "hints": hints,
        "kept": kept,
        "siblings": siblings(desk, file),
        "roles": looking.ROLES,
        "units": looking.UNITS,
    }
    return page(request, "reading.html", place="Files", file=file, start=start)


@router.get("/reading/picture")
def picture(request: Request, file: str) -> Response:
    """The trace of a file as it is read now, small."""
    from halfcell.study.edit import StudyEdit
    from halfcell.study.edit_readers import in_force

    desk: Desk = request.app.state.desk
    path = looking.own(desk, file)
    _, hints = in_force(StudyEdit(str(desk.folder)), file)
    drawn = looking.picture_of(path, file, hints)["picture"]
    empty = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 360 200"></svg>'
    return Response(drawn or empty, media_type="image/svg+xml", headers={"cache-control": "no-cache"})


@router.post("/reading/try")
def attempt(request: Request, asked: Reading, file: str) -> dict[str, Any]:
    """What the file would be read as, and which of its siblings as well; nothing is written."""
    desk: Desk = request.app.state.desk
    path, hints = looking.own(desk, file), hints_of(asked)
    shown = looking.page_of(path, file, hints)
    tried = _tried(desk, [f for f in asked.files if f != file][:_TRIED], hints)
    return shown | {"tried": len(tried), "failing": [p.file for p in tried if p.problem][:20]}


@router.post("/reading/keep")
def keep(request: Request, asked: Reading, file: str) -> dict[str, Any]:
    """Write the correction into study.toml for the file and its siblings."""
    from halfcell.study.edit_readers import keep_reading
    from halfcell.study.reguess import reguess

    desk: Desk = request.app.state.desk
    if desk.folder is None:
        raise StudyError("No study is open.")
    hints = hints_of(asked)
    together = list(dict.fromkeys([file, *asked.files]))
    looking.all_own(desk, together)
    wrong = [p for p in _tried(desk, together, hints) if p.problem] if hints else []
    if wrong:
        names = ", ".join(PurePosixPath(p.file).name for p in wrong[:4])
        raise StudyError(
            f"{len(wrong)} of the {len(together)} files cannot be read so ({names}). Nothing was written."
        )
    with desk.edit() as folder:
        patterns = keep_reading(folder, together, recordings(desk), hints)
        told = reguess(folder, together, hints) if hints else ()
    return {"go": "/files", "patterns": patterns, "files": len(together), "told": len(told)}


def siblings(desk: Desk, file: str) -> list[str]:
    """The other files laid out like this one, as they are read without a person's word."""
    from halfcell.study.layouts import signature

    data = recordings(desk)
    found = dict(zip(data, looking.read_with(data, {}), strict=True))
    if file not in found:
        return []
    mark = signature(found[file])
    return [name for name, shown in found.items() if name != file and signature(shown) == mark]


def hints_of(asked: Reading) -> dict[str, Any]:
    """The correction as study.toml writes it, empty values left out."""
    hints: dict[str, Any] = {"columns": asked.columns, "units": {k: v for k, v in asked.units.items() if v}}
    hints |= {"delimiter": asked.delimiter, "decimal": asked.decimal, "skip": asked.skip}
    return {k: v for k, v in hints.items() if v not in ("", None, {})}


def _tried(desk: Desk, files: list[str], hints: dict[str, Any]) -> list[Any]:
    known = looking.own_files(desk)
    return looking.read_with({f: known[f] for f in files if f in known}, hints)
