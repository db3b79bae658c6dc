"""How a study's raw files are taken apart, for the pages on which a person checks it."""

from __future__ import annotations

import contextlib
import re
from collections import OrderedDict
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from halfcell.app.traces import abscissa, thumbnail
from halfcell.errors import HalfcellError, StudyError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping

    from halfcell.app.desk import Desk
    from halfcell.readers import Preview

ROLES = ("potential", "current", "time", "cycle", "forward", "backward")
UNITS = {
    "potential": ("V", "mV"),
    "current": ("A", "mA", "uA", "nA", "mA/cm^2", "uA/cm^2"),
    "time": ("s", "ms", "min"),
}
UNITS |= {"forward": UNITS["current"], "backward": UNITS["current"]}
"""Units offered for a column; any other can be written."""
_LINES = 400
_BELOW = 24
"""Lines shown below the first row of numbers."""
_MOST_KEPT = 6000
_NOTHING = {"picture": "", "x": "", "y": ""}


@dataclass(slots=True)
class _Seen:
    """Previews of files that did not change since; losing them loses nothing."""

    kept: OrderedDict[tuple[object, ...], Preview] = field(default_factory=OrderedDict)
    most: int = _MOST_KEPT

    def get(self, path: Path, name: str, hints: Mapping[str, Any]) -> Preview:
        """The preview of a file, from before where neither the file nor the hints changed."""
        from halfcell.readers import preview

        key = _key(path, hints)
        found = self.kept.get(key)
        if found is None:
            found = self.kept[key] = preview(path, hints, name=name)
            while len(self.kept) > self.most:
                self.kept.popitem(last=False)
        return found

    def room_for(self, files: int) -> None:
        """A study of very many files is kept whole, as read and as said."""
        self.most = max(self.most, 2 * files)


def _key(path: Path, hints: Mapping[str, Any]) -> tuple[object, ...]:
    status = path.stat()
    return str(path), status.st_mtime_ns, status.st_size, repr(sorted(hints.items()))


@dataclass(frozen=True, slots=True, kw_only=True)
class Unread:
    """A file that a page shows and that was not looked at yet, and how it is read."""

    file: str
    path: Path
    hints: Mapping[str, Any]


_SEEN = _Seen()


def own_files(desk: Desk, folder: str = "data") -> dict[str, Path]:
    """The study's own files below one of its folders, by their path in the study; no links that lead out of it."""
    root = desk.folder / folder if desk.folder else None
    if root is None or not root.is_dir():
        return {}
    real = root.resolve()
    there = (p for p in sorted(root.rglob("*")) if p.is_file() and not p.is_symlink())
    return {p.relative_to(root.parent).as_posix(): p for p in there if real in p.resolve().parents}


def own(desk: Desk, file: str) -> Path:
    """The path of a raw file of the study. Raises StudyError for any other."""
    return all_own(desk, [file])[file]


def all_own(desk: Desk, files: Iterable[str]) -> dict[str, Path]:
    """The paths of some raw files of the study. Raises StudyError for the first that is none."""
    known = own_files(desk)
    for file in files:
        if file not in known:
            raise StudyError(f"{file!r} is not a raw file of this study.")
    return {file: known[file] for file in files}


def as_kept(
    desk: Desk, files: Mapping[str, Path], progress: Callable[[str, int, int], None] | None = None
) -> list[Preview]:
    """Each file as study.toml says that it is read."""
    from halfcell.study.edit import StudyEdit
    from halfcell.study.edit_readers import in_force

    edit = StudyEdit(desk.folder) if desk.folder else None
    found = []
    for done, (file, path) in enumerate(files.items()):
        if progress is not None:
            progress("Comparing the layouts", done, len(files))
        found.append(_SEEN.get(path, file, in_force(edit, file)[1] if edit is not None else {}))
    return found


def unread(desk: Desk, files: Mapping[str, Path], *, kept: bool = True) -> list[Unread]:
    """Those of the files that were not looked at since they or what study.toml says of them changed.

    With ``kept`` false, read without what study.toml says.
    """
    from halfcell.study.edit import StudyEdit
    from halfcell.study.edit_readers import in_force

    edit = StudyEdit(desk.folder) if desk.folder and kept else None
    _SEEN.room_for(len(files))
    found = []
    for file, path in files.items():
        hints = in_force(edit, file)[1] if edit is not None else {}
        with contextlib.suppress(OSError):
            if _key(path, hints) not in _SEEN.kept:
                found.append(Unread(file=file, path=path, hints=hints))
    return found


def look(waiting: list[Unread], of: int) -> Iterator[tuple[str, int, int]]:
    """Look at the files one after the other, so that they are kept; yields the step, how many of all ``of`` are done.

    A file that cannot be opened is left to who asks for it next, to be told of.
    """
    for done, one in enumerate(waiting, of - len(waiting)):
        yield "Reading the files", done, of
        with contextlib.suppress(OSError):
            _SEEN.get(one.path, one.file, one.hints)
    yield "Reading the files", of, of


def read_with(files: Mapping[str, Path], hints: Mapping[str, Any]) -> list[Preview]:
    """Each file as it would be read with such hints."""
    return [_SEEN.get(path, file, hints) for file, path in files.items()]


def page_of(path: Path, file: str, hints: Mapping[str, Any]) -> dict[str, Any]:
    """All that the page of one file draws: lines cut at the columns, the columns, a picture, what was assumed."""
    from halfcell.readers import preview

    shown = preview(path, hints, name=file, most=_LINES)
    last = (shown.first_row or 30) + _BELOW
    return {
        "file": file,
        "lines": [
            {"number": number, "cells": pieces(line, shown.delimiter, len(shown.columns))}
            for number, line in shown.lines[:last]
        ],
        "first": shown.first_row,
        "columns": [
            {"number": c.number, "heading": c.heading, "unit": c.unit, "role": c.role, "numeric": c.numeric}
            for c in shown.columns
        ],
        "rows": [list(row) for row in shown.rows[:6]],
        "delimiter": shown.delimiter,
        "decimal": shown.decimal,
        "assumed": list(shown.assumed),
        "samples": shown.samples,
        "cycles": shown.cycles,
        "problem": _bare(shown.problem),
        **(picture_of(path, file, hints) if not shown.problem else _NOTHING),
    }


def pieces(line: str, delimiter: str, columns: int) -> list[list[Any]]:
    """A line cut into [text, column from 1]; what stands between the columns has the column 0.

    A line that cannot be matched with the columns is one piece.
    """
    if columns < 2:
        return [[line, 0]]
    mark = {"tab": "\t", "space": " "}.get(delimiter, delimiter)
    if mark == " ":
        found = [m.span() for m in re.finditer(r"\S+", line)]
    else:
        cell = re.compile(rf'"[^"]*"[^{re.escape(mark)}]*|[^{re.escape(mark)}]*')
        found, at = [], 0
        while at <= len(line):
            match = cell.match(line, at)
            assert match is not None
            found.append(match.span())
            at = match.end() + 1
    while len(found) > columns and found[-1][0] == found[-1][1]:
        found.pop()
    if len(found) != columns:
        return [[line, 0]]
    out: list[list[Any]] = []
    at = 0
    for number, (start, end) in enumerate(found, 1):
        if start > at:
            out.append([line[at:start], 0])
        out.append([line[start:end], number])
        at = end
    return [*out, [line[at:], 0]] if at < len(line) else out


def _bare(problem: str) -> str:
    """The reason alone: the page shows the lines, and the keys need not be written by hand."""
    return problem.partition("\nThe lines in question:")[0]


def picture_of(path: Path, file: str, hints: Mapping[str, Any]) -> dict[str, str]:
    """The trace of a file as it would be read, small, and the ranges of its axes in words; empty where it cannot be read."""
    from halfcell.readers import read

    try:
        recording = read(path, name=file, hints=hints)
    except HalfcellError:
        return _NOTHING
    technique = "cyclic voltammogram" if recording.potential is not None else "potential step"
    x, label, unit = abscissa(recording, technique)
    return {
        "picture": thumbnail(x, recording.current, 360, 200),
        "x": f"{label} {_range(x, unit)}",
        "y": f"current {_range(recording.current, 'A/m²' if recording.per_area else 'A')}",
    }


def _range(values: Any, unit: str) -> str:
    import numpy as np

    good = values[np.isfinite(values)]
    if not len(good):
        return "holds no numbers"
    low, high = float(good.min()), float(good.max())
    factor, prefix = 1.0, ""
    if unit.startswith("A") and unit != "A/m²":
        size = max(abs(low), abs(high))
        steps = ((1.0, ""), (1e-3, "m"), (1e-6, "µ"), (1e-9, "n"), (1e-12, "p"))
        factor, prefix = next(((f, p) for f, p in steps if size >= f), steps[-1])
    return f"{low / factor:.4g} to {high / factor:.4g} {prefix}{unit}".replace("-", "−").rstrip()
