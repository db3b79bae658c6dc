"""A new study folder from loose exports and images, with every guess marked."""

from __future__ import annotations

import hashlib
import os
import shutil
import uuid
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Any

from halfcell.errors import HalfcellError, StudyError
from halfcell.study.intake_guess import guess_rows
from halfcell.study.intake_names import NameParts, name_parts
from halfcell.study.intake_write import Written, write_study
from halfcell.study.words import printable

if TYPE_CHECKING:
    from halfcell.readers import Preview
    from halfcell.study.intake_shapes import Shape

_IMAGES = {".png", ".tif", ".tiff", ".jpg", ".jpeg"}
_TEXTS = {".csv", ".txt", ".dat", ".tsv", ".asc", ".prn", ".xy", ".data", ""}
_LEAST_ROWS = 10
"""A table of fewer rows that cannot be read is no record."""
_OWN = {"study.toml", "runs.csv", "adjustments.toml", "intake.csv"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """One file taken in: where it came from, where it stands now, and what was found in it."""

    source: str
    file: str
    sha256: str
    size: int
    kind: str
    """"recording", "micrograph", "log" or "other"."""
    parts: NameParts
    shape: Shape | None = None
    scale: float = float("nan")
    """m per pixel, where an image tells it."""
    problem: str = ""
    """Why it could not be read."""
    preview: Preview | None = None
    """How an unreadable text was taken apart, to show its lines."""
    header: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Intake:
    """What ``intake`` made: the folder, its files, what was guessed and what only a person knows."""

    folder: Path
    files: tuple[Taken, ...]
    guesses: tuple[str, ...]
    questions: tuple[str, ...]
    """What only a person can know, each with where the answer goes."""


Progress = Callable[[str, int, int], None]


def intake(source: str | Path, study: str | Path, *, progress: Progress | None = None) -> Intake:
    """Make a study folder from a folder of exports and images.

    Every file is copied under data/, images/ or notes/ (never altered; its sha256 stands in
    intake.csv). Technique, scan rate and cycles are guessed from the numbers, electrode, solution
    and concentration from the parts of the names; study.toml and runs.csv say so beside each
    guess, and hold "?" where only a person knows the answer. ``halfcell check`` lists those.

    ``progress`` is told the step, how many files are done and how many there are.
    Raises StudyError when ``source`` holds no files or ``study`` is not empty; nothing is then made.
    """
    root, target = Path(source), Path(study)
    found = loose_files(root, target)
    if target.exists() and (not target.is_dir() or any(target.iterdir())):
        raise StudyError(
            f"{str(target)!r} is there already and not empty; intake makes a new folder, such as {str(target) + '-2'!r}."
        )
    target.parent.mkdir(parents=True, exist_ok=True)
    making = target.parent / f".{target.name}.{uuid.uuid4().hex[:8]}.part"
    try:
        making.mkdir()
        taken = []
        for number, path in enumerate(found):
            if progress is not None:
                progress("Reading the files", number, len(found))
            taken.append(take(root, path, making))
        rows = guess_rows(taken)
        written: Written = write_study(making, target.name, taken, rows)
        if target.exists():
            target.rmdir()
        making.rename(target)
    except OSError as error:
        raise StudyError(f"{str(target)!r} cannot be written ({error.strerror or error}).") from None
    finally:
        shutil.rmtree(making, ignore_errors=True)
    return Intake(folder=target, files=tuple(taken), guesses=written.guesses, questions=written.questions)


def loose_files(root: Path, target: Path) -> list[Path]:
    """All files below a folder that can be taken in, those of the study ``target`` aside.

    Raises StudyError when it is no folder, holds none, or one of them has a name that cannot be kept.
    """
    if not root.is_dir():
        raise StudyError(f"{str(root)!r} is not a folder; give the folder that holds the exports and images.")
    found = []
    for folder, folders, names in os.walk(root):
        here = Path(folder)
        folders[:] = sorted(
            f for f in folders if not f.startswith(".") and (here / f).resolve() != target.resolve()
        )
        found += [
            here / n
            for n in sorted(names)
            if not n.startswith((".", "~$")) and n not in _OWN and not (here / n).is_symlink()
        ]
    nameable(root, found)
    if not found:
        raise StudyError(f"{str(root)!r} holds no files to take in.")
    return found


def nameable(root: Path, found: Iterable[Path]) -> None:
    """Raise StudyError where the name of a file cannot stand in runs.csv."""
    for path in found:
        inside = str(path.relative_to(root))
        if printable(inside) != inside or any(ord(c) < 32 for c in inside) or "\\" in path.name:
            raise StudyError(
                f"the name of the file {path.name!a} holds characters that cannot be written in a table; rename it."
            )


def place_of(inside: PurePosixPath, kind: str, below: str = "") -> str:
    """Where a file of a path ``inside`` its source stands in the study: under data/, images/ or notes/, and there ``below`` a folder."""
    top = {"micrograph": "images", "other": "notes"}.get(kind, "data")
    parts = inside.parts
    if parts[0].lower() in {"data", "images", "notes"} and len(parts) > 1:
        parts = parts[1:]
    return PurePosixPath(top, below, *parts).as_posix()


def take(
    root: Path,
    path: Path,
    making: Path,
    *,
    file: str = "",
    below: str = "",
    hints: Callable[[str], Mapping[str, Any]] = lambda _: {},
) -> Taken:
    """Copy one file below ``making`` to its place in the study (``file``, where that is known), and look into it.

    ``hints`` gives how a file of such a name is read, where a person has said so.
    Raises StudyError when two files have one place, and when the file changes meanwhile.
    """
    inside = PurePosixPath(path.relative_to(root).as_posix())
    parts = name_parts(inside.as_posix())
    kind = kind_of(path, parts)
    file = file or place_of(inside, kind, below)
    copy = making / file
    if copy.exists():
        raise StudyError(
            f"{inside.as_posix()!r} and another file would both become {file!r}; rename one of them."
        )
    copy.parent.mkdir(parents=True, exist_ok=True)
    shutil.copyfile(path, copy)
    digest = sha256_of(copy)
    if digest != sha256_of(path):
        raise StudyError(
            f"{path.name!r} changed while it was copied; try again when the instrument has finished."
        )
    common = {
        "source": inside.as_posix(),
        "file": file,
        "sha256": digest,
        "size": copy.stat().st_size,
        "parts": parts,
    }
    if kind == "micrograph":
        return _image(copy, common)
    if kind == "recording":
        return _recording(copy, common, hints(file))
    return Taken(kind=kind, **common)  # type: ignore[arg-type]


def kind_of(path: Path, parts: NameParts) -> str:
    """What a file is taken for: "recording", "micrograph", "log" or "other"."""
    if path.suffix.lower() in _IMAGES:
        return "micrograph"
    if path.suffix.lower() not in _TEXTS or path.name.lower().startswith(("readme", "source", "license")):
        return "other"
    if _is_log(path):
        return "log"
    return "other" if parts.log else "recording"


def _is_log(path: Path) -> bool:
    """Whether a text is a table of additions: times and volumes."""
    from halfcell.study.table import read_table

    try:
        with path.open("rb") as source:
            table = read_table(source.read(4000))
    except (OSError, StudyError):
        return False
    return "volume" in table.columns and "time" in table.columns


def _image(copy: Path, common: dict[str, object]) -> Taken:
    from halfcell.readers import read_image

    try:
        image = read_image(copy, name=str(common["file"]))
    except HalfcellError as error:
        return Taken(kind="micrograph", problem=str(error), **common)  # type: ignore[arg-type]
    return Taken(kind="micrograph", scale=image.metres_per_pixel, **common)  # type: ignore[arg-type]


def _recording(copy: Path, common: dict[str, object], hints: Mapping[str, Any]) -> Taken:
    from halfcell.readers import preview, read
    from halfcell.study.intake_shapes import shape_of

    try:
        recording = read(copy, name=str(common["file"]), hints=hints)
    except HalfcellError as error:
        shown = preview(copy, hints, name=str(common["file"]))
        if len(shown.rows) < _LEAST_ROWS:
            return _put_aside(copy, common, str(error))
        return Taken(kind="recording", problem=shown.problem or str(error), preview=shown, **common)  # type: ignore[arg-type]
    heads = " ".join(f"{heading} {unit}" for _, heading, unit in recording.columns)
    return Taken(kind="recording", shape=shape_of(recording), header=f"{recording.header}\n{heads}", **common)  # type: ignore[arg-type]


def _put_aside(copy: Path, common: dict[str, object], problem: str) -> Taken:
    """A text or a table of a few rows is no record: it goes to notes/."""
    file = "notes/" + str(common["file"]).partition("/")[2]
    target = copy.parents[len(Path(file).parts) - 1] / file
    target.parent.mkdir(parents=True, exist_ok=True)
    copy.rename(target)
    return Taken(kind="other", problem=problem, **(common | {"file": file}))  # type: ignore[arg-type]


def sha256_of(path: Path) -> str:
    """The sha256 of a file's bytes."""
    with path.open("rb") as source:
        return hashlib.file_digest(source, "sha256").hexdigest()
