"""Start: open a study, or make one from loose files; then answer what only a person knows."""

from __future__ import annotations

import contextlib
import posixpath
import shutil
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import Response
from pydantic import BaseModel, ConfigDict, Field
from starlette.datastructures import UploadFile

from halfcell.app.filing import filed
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
        request, "start.html", place="Start", recent=recent(), suggested=str(_free(Path.home() / "my-study"))
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

    with _told(request) as tell:
        made = intake(_path(asked.source), _path(asked.folder), progress=tell)
        _lay(request, made.folder)
        filed(request.app.state.desk, tell)
    return {"go": "/files"}


@router.get("/start/making")
def making(request: Request) -> dict[str, Any]:
    """How far the making of a study is; zeros where none is being made."""
    step, done, of = getattr(request.app.state, "making", ("", 0, 0))
    return {"step": step, "done": done, "of": of}


@router.post("/start/drop")
async def drop(request: Request) -> dict[str, str]:
    """Make a study of dropped files ("files", with their paths below the dropped folder in "paths") in a folder ("folder")."""
    async with request.form(max_files=_MOST_FILES, max_fields=_MOST_FILES + 4) as form:
        folder = form.get("folder")
        files = [file for file in form.getlist("files") if isinstance(file, UploadFile)]
        paths = [path for path in form.getlist("paths") if isinstance(path, str)]
        if not isinstance(folder, str) or not files:
            raise StudyError("Drop or choose files, and say where the study shall be.")
        names = paths if len(paths) == len(files) else [file.filename or "" for file in files]
        await run_in_threadpool(
            _taken_in, request, list(zip(names, files, strict=True)), _path(folder[:4000])
        )
    return {"go": "/files"}


def _taken_in(request: Request, files: list[tuple[str, UploadFile]], target: Path) -> None:
    from halfcell.study.intake import intake

    inside = [plain_path(name) for name, _ in files]
    # A folder that all files share says nothing of any of them.
    lead = posixpath.commonpath([str(p.parent) for p in inside])
    with tempfile.TemporaryDirectory(prefix="halfcell-") as loose, _told(request) as tell:
        taken: set[str] = set()
        for path, (name, file) in zip(inside, files, strict=True):
            own = path.relative_to(lead)
            if str(own).lower() in taken:
                raise StudyError(f"Two of the files are called {name!r}; rename one of them.")
            taken.add(str(own).lower())
            where = Path(loose) / own
            where.parent.mkdir(parents=True, exist_ok=True)
            with where.open("wb") as out:
                shutil.copyfileobj(file.file, out)
        made = intake(loose, target, progress=tell)
        _lay(request, made.folder)
        # What the next page shows is looked at here, where there is a bar.
        filed(request.app.state.desk, tell)


@contextlib.contextmanager
def _told(request: Request) -> Iterator[Callable[[str, int, int], None]]:
    """Something to tell the progress to, which the page asks for meanwhile."""

    def tell(step: str, done: int, of: int) -> None:
        request.app.state.making = (step, done, of)

    try:
        yield tell
    finally:
        request.app.state.making = ("", 0, 0)


@router.post("/start/answer")
def answer_questions(request: Request, asked: Answers) -> dict[str, str]:
    """Write answers into study.toml and runs.csv; answers when they are on disk."""
    from halfcell.app.asking import answer

    desk: Desk = request.app.state.desk
    with desk.edit() as folder:
        answer(folder, asked.answers)
    return {"edition": desk.edition()}


def plain_name(name: str) -> str:
    """The last part of a file's name. Raises StudyError for a name that is none."""
    last = PurePosixPath(name.replace("\\", "/")).name.strip()
    if not last or last in {".", ".."} or "\0" in last or len(last) > 200 or any(ord(c) < 32 for c in last):
        raise StudyError(f"{name[:80]!r} is not a file name that can be kept; rename the file.")
    return last


def plain_path(path: str) -> PurePosixPath:
    """A path below a dropped folder, each part a name that can be kept. Raises StudyError for any other."""
    parts = [part for part in path.replace("\\", "/").split("/") if part]
    if not 1 <= len(parts) <= 20 or any(part.strip() == ".." for part in parts):
        raise StudyError(f"{path[:80]!r} is not a file name that can be kept; rename the file.")
    return PurePosixPath(*[plain_name(part) for part in parts])


def _free(folder: Path) -> Path:
    """The folder, or one of a number behind it, that is not there yet."""
    tried = [folder, *(folder.with_name(f"{folder.name}-{n}") for n in range(2, 1000))]
    return next((f for f in tried if not f.exists()), folder)


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
