"""Start: open a study, or make one from loose files; then answer what only a person knows."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import Response
from pydantic import BaseModel, ConfigDict, Field
from starlette.datastructures import UploadFile

from halfcell.app.pages import page
from halfcell.app.recent import recent, remember
from halfcell.errors import StudyError

if TYPE_CHECKING:
    from halfcell.app.desk import Desk

router = APIRouter()

_MOST_FILES = 5000


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
        request, "start.html", place="Start", recent=recent(), suggested=str(Path.home() / "my-study")
    )


@router.post("/start/open")
def open_folder(request: Request, asked: Open) -> dict[str, str]:
    """Lay a study on the desk."""
    folder = _path(asked.folder)
    if not (folder / "study.toml").is_file():
        raise StudyError(f"{folder} holds no study.toml. To make a study of loose files, use the other form.")
    _lay(request, folder)
    return {"go": "/"}


@router.post("/start/make")
def make(request: Request, asked: Make) -> dict[str, str]:
    """Make a study of a folder of loose files and lay it on the desk."""
    from halfcell.study.intake import intake

    made = intake(_path(asked.source), _path(asked.folder))
    _lay(request, made.folder)
    return {"go": "/"}


@router.post("/start/drop")
async def drop(request: Request) -> dict[str, str]:
    """Make a study of dropped files ("files") in a folder ("folder"); they are copied under their own names."""
    async with request.form(max_files=_MOST_FILES, max_fields=4) as form:
        folder = form.get("folder")
        files = [file for file in form.getlist("files") if isinstance(file, UploadFile)]
        if not isinstance(folder, str) or not files:
            raise StudyError("Drop or choose files, and say where the study shall be.")
        await run_in_threadpool(_taken_in, request, files, _path(folder[:4000]))
    return {"go": "/"}


def _taken_in(request: Request, files: list[UploadFile], target: Path) -> None:
    from halfcell.study.intake import intake

    with tempfile.TemporaryDirectory(prefix="halfcell-") as loose:
        taken: set[str] = set()
        for file in files:
            name = plain_name(file.filename or "")
            if name.lower() in taken:
                raise StudyError(f"Two of the files are called {name!r}; rename one of them.")
            taken.add(name.lower())
            with (Path(loose) / name).open("wb") as out:
                shutil.copyfileobj(file.file, out)
        made = intake(loose, target)
    _lay(request, made.folder)


@router.post("/start/answer")
def answer_questions(request: Request, asked: Answers) -> dict[str, str]:
    """Write answers into study.toml and runs.csv; answers when they are on disk."""
    from halfcell.app.asking import answer

    desk: Desk = request.app.state.desk
    if desk.folder is None:
        raise StudyError("No study is open.")
    answer(desk.folder, asked.answers)
    desk.refresh()
    return {"edition": desk.edition()}


def plain_name(name: str) -> str:
    """The last part of a file's name. Raises StudyError for a name that is none."""
    last = PurePosixPath(name.replace("\\", "/")).name.strip()
    if not last or last in {".", ".."} or "\0" in last or len(last) > 200 or any(ord(c) < 32 for c in last):
        raise StudyError(f"{name[:80]!r} is not a file name that can be kept; rename the file.")
    return last


def _path(text: str) -> Path:
    if not text.strip() or "\0" in text:
        raise StudyError(f"Give the folder's path, such as {str(Path.home() / 'my-study')!r}.")
    path = Path(text.strip()).expanduser()
    if not path.is_absolute():
        raise StudyError(
            f"{text!r} does not say where: give the whole path, such as {str(Path.home() / text.strip())!r}."
        )
    return path


def _lay(request: Request, folder: Path) -> None:
    desk: Desk = request.app.state.desk
    desk.put(folder.resolve())
    remember(folder.resolve())
    desk.refresh()
