"""Start: open a study, or make one from loose files; then answer what only a person knows."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import Response
from pydantic import BaseModel, ConfigDict, Field

from halfcell.app.filing import filed
from halfcell.app.pages import page
from halfcell.app.recent import recent, remember
from halfcell.app.taking import MOST_FILES, Sent, laid_out, path_of, sent, told
from halfcell.errors import StudyError

if TYPE_CHECKING:
    from halfcell.app.desk import Desk

router = APIRouter()


class Open(BaseModel):
    """A study folder on this machine."""

    model_config = ConfigDict(extra="forbid")
    folder: str = Field(max_length=4000)


class Make(BaseModel):
    """Loose files in one folder, and where the study shall be."""

    model_config = ConfigDict(extra="forbid")
    source: str = Field(max_length=4000)
    folder: str = Field(max_length=4000)


class Answers(BaseModel):
    """Answers to what the folder lacks."""

    model_config = ConfigDict(extra="forbid")
    answers: list[dict[str, Any]] = Field(min_length=1, max_length=5000)


@router.get("/start")
def start(request: Request) -> Response:
    """The page on which a study is opened or begun."""
    return page(
        request, "start.html", place="Start", recent=recent(), suggested=str(_free(Path.home() / "my-study"))
    )


@router.post("/start/open")
def open_folder(request: Request, asked: Open) -> dict[str, str]:
    """Lay a study on the desk."""
    folder = path_of(asked.folder)
    if not (folder / "study.toml").is_file():
        raise StudyError(f"{folder} holds no study.toml. To make a study of loose files, use the other form.")
    _lay(request, folder)
    return {"go": "/"}


@router.post("/start/make")
def make(request: Request, asked: Make) -> dict[str, str]:
    """Make a study of a folder of loose files and lay it on the desk."""
    _make(request, path_of(asked.source), path_of(asked.folder))
    return {"go": "/files"}


@router.get("/start/making")
def making(request: Request) -> dict[str, Any]:
    """How far the making of a study is; zeros where none is being made."""
    step, done, of = getattr(request.app.state, "making", ("", 0, 0))
    return {"step": step, "done": done, "of": of}


@router.post("/start/drop")
async def drop(request: Request) -> dict[str, str]:
    """Make a study of dropped files ("files", with their paths below the dropped folder in "paths") in a folder ("folder")."""
    async with request.form(max_files=MOST_FILES, max_fields=MOST_FILES + 4) as form:
        folder = form.get("folder")
        if not isinstance(folder, str):
            raise StudyError("Drop or choose files, and say where the study shall be.")
        await run_in_threadpool(_taken_in, request, sent(form), path_of(folder[:4000]))
    return {"go": "/files"}


def _taken_in(request: Request, files: Sent, target: Path) -> None:
    with laid_out(files) as loose:
        _make(request, loose, target)


def _make(request: Request, source: Path, target: Path) -> None:
    from halfcell.study.intake import intake

    with told(request) as tell:
        made = intake(source, target, progress=tell)
        _lay(request, made.folder)
        # What the next page shows is looked at here, where there is a bar.
        filed(request.app.state.desk, tell)


@router.post("/start/answer")
def answer_questions(request: Request, asked: Answers) -> dict[str, str]:
    """Write answers into study.toml and runs.csv; answers when they are on disk."""
    from halfcell.app.asking import answer

    desk: Desk = request.app.state.desk
    with desk.edit() as folder:
        answer(folder, asked.answers)
    return {"edition": desk.edition()}


def _free(folder: Path) -> Path:
    """The folder, or one of a number behind it, that is not there yet."""
    tried = [folder, *(folder.with_name(f"{folder.name}-{n}") for n in range(2, 1000))]
    return next((f for f in tried if not f.exists()), folder)


def _lay(request: Request, folder: Path) -> None:
    desk: Desk = request.app.state.desk
    desk.put(folder.resolve())
    remember(folder.resolve())
    desk.refresh()
