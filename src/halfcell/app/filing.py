"""The files of a study as a list to check: layouts, images, logs, and what was put aside and why."""

from __future__ import annotations

import contextlib
import csv
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import TYPE_CHECKING

from halfcell.app import looking
from halfcell.errors import HalfcellError, StudyError

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from halfcell.app.desk import Desk
    from halfcell.study.layouts import Family

_SHEETS = {".xlsx", ".xls", ".xlsm", ".ods"}
_PAPERS = {".pdf", ".doc", ".docx", ".rtf", ".odt", ".pptx", ".md"}
_ARCHIVES = {".zip", ".7z", ".rar", ".tar", ".gz"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Aside:
    """A file that is no record: why, and what to do about it (empty where nothing need be done)."""

    file: str
    why: str
    remedy: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Filed:
    """All files of a study."""

    families: tuple[Family, ...]
    images: tuple[str, ...]
    logs: tuple[str, ...]
    aside: tuple[Aside, ...]
    unlisted: tuple[str, ...] = ()
    """Raw files that no row of runs.csv names, so that they are not analysed."""

    @property
    def unread(self) -> int:
        """Files that cannot be read yet."""
        return sum(len(f.files) for f in self.families if f.state == "problem")


def filed(
    desk: Desk,
    progress: Callable[[str, int, int], None] | None = None,
    new: frozenset[str] = frozenset(),
) -> Filed:
    """Look at every file of the study; ``progress`` is told how far that is. Layouts of ``new`` files stand first.

    Raises StudyError where study.toml cannot be read as TOML.
    """
    from halfcell.study.layouts import families

    named = logs(desk)
    data = recordings(desk)
    aside = tuple(_aside(file, path) for file, path in looking.own_files(desk, "notes").items())
    found = families(looking.as_kept(desk, data, progress))
    images = tuple(looking.own_files(desk, "images"))
    rows = _with_row(desk)
    return Filed(
        families=tuple(sorted(found, key=lambda family: new.isdisjoint(family.files))),
        images=images,
        logs=tuple(sorted(named)),
        aside=tuple(sorted(aside, key=lambda a: not a.remedy)),
        unlisted=tuple(file for file in (*data, *images) if file not in rows) if rows else (),
    )


def recordings(desk: Desk) -> dict[str, Path]:
    """The raw files under data/ that are no addition logs."""
    named = logs(desk)
    return {file: path for file, path in looking.own_files(desk).items() if file not in named}


def unread(desk: Desk) -> tuple[list[looking.Unread], int]:
    """What ``filed`` would have to read now, and of how many files. Raises StudyError as ``filed``."""
    data = recordings(desk)
    notes = {f: p for f, p in looking.own_files(desk, "notes").items() if _known(f, p) is None}
    waiting = looking.unread(desk, data) + looking.unread(desk, notes, kept=False)
    return waiting, len(data) + len(notes)


def _with_row(desk: Desk) -> set[str]:
    from halfcell.study.edit_runs import RunsEdit

    with contextlib.suppress(StudyError):
        return {cells.get("file", "") for cells in RunsEdit(desk.opened()).rows.values()}
    return set()


def logs(desk: Desk) -> set[str]:
    """The addition logs: those that runs.csv names, and those that the intake took for one."""
    from halfcell.study.edit_runs import RunsEdit

    if desk.folder is None:
        return set()
    found: set[str] = set()
    with contextlib.suppress(StudyError):
        found |= {cells.get("log", "") for cells in RunsEdit(desk.folder).rows.values()}
    try:
        with (desk.folder / "intake.csv").open(encoding="utf-8", newline="") as source:
            found |= {row["file"] for row in csv.DictReader(source) if row.get("kind") == "log"}
    except (OSError, KeyError, ValueError, csv.Error):
        pass
    return found - {""}


def _aside(file: str, path: Path) -> Aside:
    known = _known(file, path)
    if known is not None:
        return known
    try:
        why = looking.read_with({file: path}, {})[0].problem.partition("\n")[0]
    except (HalfcellError, OSError):
        why = ""
    name = PurePosixPath(file).name
    why = why.removeprefix(f"{file}: ").removeprefix(f"{name}: ")
    return Aside(file=file, why=(why[:1].upper() + why[1:]) or "No record was found in it.")


def _known(file: str, path: Path) -> Aside | None:
    """What can be said without reading the file, if anything."""
    ending = PurePosixPath(file).suffix.lower()
    if path.stat().st_size == 0:
        return Aside(file=file, why="It is empty.", remedy="Export it again, if it should hold a record.")
    if ending in _SHEETS:
        remedy = (
            "Open it, save each sheet as CSV (or text with tabs) and add those; formulas and charts are lost."
        )
        return Aside(file=file, why="A spreadsheet is no raw record.", remedy=remedy)
    if ending in _ARCHIVES:
        return Aside(file=file, why="An archive.", remedy="Unpack it and add the files that were in it.")
    if ending in _PAPERS:
        return Aside(file=file, why="A text for people; it is kept with the study.")
    return None
