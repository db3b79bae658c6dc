"""Further files for the study on the desk, dropped on the page of its files."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool
from pydantic import BaseModel, ConfigDict, Field

from halfcell.app.filing import filed
from halfcell.app.taking import MOST_FILES, Sent, laid_out, path_of, sent, told

if TYPE_CHECKING:
    from halfcell.app.desk import Desk
    from halfcell.study.adding import Added

router = APIRouter()

_SHOWN = "/files?added=1"


class From(BaseModel):
    """A folder or file on this machine, and a folder below data/ for what is new in it."""

    model_config = ConfigDict(extra="forbid")
    source: str = Field(max_length=4000)
    below: str = Field("", max_length=200)


@dataclass(frozen=True, slots=True, kw_only=True)
class Latest:
    """What was added last in this window's server, as its page tells it."""

    folder: Path
    added: Added

    @property
    def files(self) -> frozenset[str]:
        """The new files, by their paths in the study."""
        return frozenset(t.file for t in self.added.files)

    @property
    def asked(self) -> tuple[str, ...]:
        """What only a person knows, without the places in the files: the next pages lead to them."""
        return tuple(_plainly(question) for question in self.added.questions)


@router.post("/files/drop")
async def drop(request: Request) -> dict[str, str]:
    """Add dropped files ("files", "paths") to the study, all below a folder of their own where "below" names one."""
    async with request.form(max_files=MOST_FILES, max_fields=MOST_FILES + 4) as form:
        below = form.get("below")
        await run_in_threadpool(_dropped, request, sent(form), below if isinstance(below, str) else "")
    return {"go": _SHOWN}


@router.post("/files/from")
def add_from(request: Request, asked: From) -> dict[str, str]:
    """Add the files of a folder on this machine, or one file."""
    _add(request, path_of(asked.source), asked.below)
    return {"go": _SHOWN}


def latest(request: Request) -> Latest | None:
    """What was added last, as long as it stands in the study on the desk."""
    from halfcell.study.edit_runs import RunsEdit

    found: Latest | None = getattr(request.app.state, "added", None)
    desk: Desk = request.app.state.desk
    if found is None or found.folder != desk.folder:
        return None
    if not found.added.rows:
        return found
    named = {cells.get("file", "") for cells in RunsEdit(found.folder).rows.values()}
    return found if found.files & named else None


def _plainly(question: str) -> str:
    """ "runs.csv, column step_potential: at which potential?" as "Step potential: at which potential?"."""
    place, _, words = question.partition(": ")
    subject = re.sub(
        r"^(?:study\.toml|runs\.csv), (?:column |row \d+, column |solutions\.|readers\.|confounders\.|analysis\.amperometry\.)?",
        "",
        place,
    )
    if place.startswith("study.toml, readers."):
        subject = "Reading"
    elif not place.startswith("study.toml, solutions."):
        subject = subject.replace("_", " ").replace(".", ", ")
        subject = subject[:1].upper() + subject[1:]
    return f"{subject}: {words}"


def _dropped(request: Request, files: Sent, below: str) -> None:
    with laid_out(files) as loose:
        _add(request, loose, below)


def _add(request: Request, source: Path, below: str) -> None:
    from halfcell.study.adding import add
    from halfcell.study.atomic import written

    desk: Desk = request.app.state.desk
    folder = desk.opened()
    # The desk is free meanwhile: what others change makes the adding refuse, and is never lost.
    with told(request) as tell:
        with written() as writes:
            added = add(source, folder, below=below.strip().strip("/"), progress=tell)
        desk.done(folder, writes)
        request.app.state.added = Latest(folder=folder, added=added)
        # What the next page shows is looked at here, where there is a bar.
        filed(desk, tell)
