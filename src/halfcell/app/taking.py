"""Files that come in through a page: their names and places checked, laid out in a folder for a moment, progress told."""

from __future__ import annotations

import contextlib
import posixpath
import shutil
import tempfile
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path, PurePosixPath

from fastapi import Request
from starlette.datastructures import FormData, UploadFile

from halfcell.errors import StudyError

MOST_FILES = 5000
Sent = Sequence[tuple[str, UploadFile]]
"""Files with their paths below the folder that was dropped."""


def sent(form: FormData) -> Sent:
    """The files of a form ("files", with their paths below the dropped folder in "paths"). Raises StudyError where there are none."""
    files = [file for file in form.getlist("files") if isinstance(file, UploadFile)]
    paths = [path for path in form.getlist("paths") if isinstance(path, str)]
    if not files:
        raise StudyError("Drop or choose files first.")
    names = paths if len(paths) == len(files) else [file.filename or "" for file in files]
    return list(zip(names, files, strict=True))


@contextlib.contextmanager
def laid_out(files: Sent) -> Iterator[Path]:
    """A folder that holds the files for as long as they are taken in. Raises StudyError for a name that cannot be kept."""
    inside = [plain_path(name) for name, _ in files]
    # A folder that all files share says nothing of any of them.
    lead = posixpath.commonpath([str(p.parent) for p in inside])
    with tempfile.TemporaryDirectory(prefix="halfcell-") as loose:
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
        yield Path(loose)


@contextlib.contextmanager
def told(request: Request) -> Iterator[Callable[[str, int, int], None]]:
    """Something to tell the progress to, which the page asks for meanwhile."""

    def tell(step: str, done: int, of: int) -> None:
        request.app.state.making = (step, done, of)

    try:
        yield tell
    finally:
        request.app.state.making = ("", 0, 0)


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


def path_of(text: str) -> Path:
    """A whole path on this machine. Raises StudyError for any other text."""
    if not text.strip() or "\0" in text:
        raise StudyError(f"Give the folder's path, such as {str(Path.home() / 'my-study')!r}.")
    path = Path(text.strip()).expanduser()
    if not path.is_absolute():
        raise StudyError(
            f"{text!r} does not say where: give the whole path, such as {str(Path.home() / text.strip())!r}."
        )
    return path
