"""Checks of the files a study names: that they stay inside the folder, exist, and stand once."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path, PurePosixPath

from halfcell.errors import Problem
from halfcell.study.draft import ADJUSTMENTS, RUNS, STUDY, Draft
from halfcell.study.words import listed, meant, nearest

_DRIVE = re.compile(r"^[A-Za-z]:")
_BESIDE = {STUDY, RUNS, ADJUSTMENTS}
_NOT_RAW = {"report", ".git", "__pycache__"}


def check_files(draft: Draft) -> Iterator[Problem]:
    """Every problem with the files of runs.csv, and raw files that no row names."""
    there = raw_files(draft.root)
    first_seen: dict[str, int] = {}
    named: set[str] = set()
    for row in draft.rows:
        for column in ("file", "log"):
            path = row.cells.get(column, "")
            if not path or (path == "?"):
                continue
            place = draft.at(row, column)
            wrong = _leaves(path, draft.root)
            if wrong is not None:
                yield Problem(file=RUNS, place=place, what=wrong[0], example=wrong[1])
                continue
            named.add(PurePosixPath(path).as_posix())
            yield from _missing(draft, place, path, there)
            if column == "file":
                earlier = first_seen.setdefault(path, row.number)
                if earlier != row.number:
                    what = f"{path!r} already stands in row {earlier}; each raw file has one row."
                    yield Problem(file=RUNS, place=place, what=what, example="remove one of the two rows")
    yield from _without_row(draft, there, named)


def raw_files(root: Path) -> list[str]:
    """The files in a study folder that may be raw files, as paths inside it, sorted."""
    found = []
    for top in sorted(root.iterdir()):
        if top.name in _NOT_RAW or top.name.startswith(".") or top.name in _BESIDE:
            continue
        if top.is_dir() and not top.is_symlink():
            found += [
                p.relative_to(root).as_posix()
                for p in sorted(top.rglob("*"))
                if p.is_file() and not p.name.startswith(".")
            ]
        elif top.is_file():
            found.append(top.name)
    return found


def present(root: Path, path: str, *, folder: bool = False) -> bool:
    """Whether there is a file (or folder) of that path; False for one the system cannot even look for."""
    try:
        return (root / path).is_dir() if folder else (root / path).is_file()
    except (OSError, ValueError):
        return False


def inside(path: str, root: Path) -> str | None:
    """Why a path may not be used in a study folder, or None when it may."""
    wrong = _leaves(path, root)
    return wrong[0] if wrong else None


def _leaves(path: str, root: Path) -> tuple[str, str] | None:
    name = re.split(r"[\\/]", path)[-1] or "ni1.csv"
    example = f"data/{name}"
    if "\0" in path:
        return "the path holds a character that no file name has.", example
    if path.startswith(("/", "\\", "~")) or _DRIVE.match(path):
        return (
            f"{path!r} is an absolute path; files are named inside the study folder, so that it can be moved.",
            example,
        )
    if "\\" in path:
        return f"{path!r} has backslashes; write slashes, which work on every system.", path.replace(
            "\\", "/"
        )
    if ".." in path.split("/"):
        return f"{path!r} leaves the study folder ('..'); copy the file into it.", example
    if re.match(r"^[a-z][a-z0-9+.-]*://", path, re.IGNORECASE):
        return f"{path!r} is an address; nothing is fetched, so copy the file into the folder.", example
    try:
        target = (root / path).resolve()
    except (OSError, RuntimeError):
        return f"{path!r} cannot be followed (a link that leads to itself?).", example
    if not target.is_relative_to(root.resolve()):
        return f"{path!r} is a link that leaves the study folder; copy the file itself into it.", example
    return None


def _missing(draft: Draft, place: str, path: str, there: list[str]) -> Iterator[Problem]:
    if present(draft.root, path):
        if path not in there and (other := nearest(path, there)) and other.casefold() == path.casefold():
            what = f"the file is named {other!r}; capital letters count on some systems."
            yield Problem(file=RUNS, place=place, what=what, example=other, severity="warning")
        return
    if present(draft.root, path, folder=True):
        yield Problem(
            file=RUNS, place=place, what=f"{path!r} is a folder; name one file.", example=f"{path}/ni1.csv"
        )
        return
    near = next((p for p in there if PurePosixPath(p).name == PurePosixPath(path).name), None) or nearest(
        path, there
    )
    hint = f"; did you mean {near!r}?" if near else "."
    yield Problem(
        file=RUNS, place=place, what=f"the file {path!r} does not exist{hint}", example=near or "data/ni1.csv"
    )


def _without_row(draft: Draft, there: list[str], named: set[str]) -> Iterator[Problem]:
    if draft.table is None:
        return
    stray = [p for p in there if p not in named and p.split("/")[0] in {"data", "images"}]
    for path in stray[:20]:
        yield Problem(
            file=path,
            what="has no row in runs.csv and is not analysed.",
            example=_row_for(draft, path),
            severity="warning",
        )
    if len(stray) > 20:
        yield Problem(
            file=RUNS,
            what=f"{len(stray) - 20} more files have no row: {listed(stray[20:], 5)}.",
            severity="warning",
        )


def _row_for(draft: Draft, path: str) -> str:
    electrodes = draft.names("electrodes")
    technique = "micrograph" if path.startswith("images/") else "cyclic voltammogram"
    delimiter = draft.table.delimiter if draft.table else ","
    return delimiter.join([path, electrodes[0] if electrodes else "Ni-1", technique])


def unknown_file(draft: Draft, path: str) -> str | None:
    """A sentence when no row of runs.csv names this file."""
    files = [row.cells.get("file", "") for row in draft.rows]
    return (
        None
        if path in files or not files
        else f"no row of runs.csv has the file {path!r}; {meant(path, files)}"
    )
