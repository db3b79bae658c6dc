"""Which files of a source are new to a study, where they go, and how they get there."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING

from halfcell.errors import StudyError
from halfcell.study.check_files import inside, raw_files
from halfcell.study.intake import Taken, kind_of, place_of, sha256_of
from halfcell.study.intake_names import name_parts
from halfcell.study.table import Table, read_table
from halfcell.study.words import listed, printable

if TYPE_CHECKING:
    from halfcell.study.draft import Draft

INTAKE = "intake.csv"


class PlaceTakenError(StudyError):
    """A new file would stand where a file of other content is; a folder of their own keeps new files apart."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Left:
    """A file that was not taken: ``equals`` is the file of the study with the same content."""

    source: str
    equals: str
    listed: bool
    """False where that file has no row in runs.csv (it was left out, or its adding was taken back)."""

    @property
    def words(self) -> str:
        """The reason in a few words."""
        if self.listed:
            return f"{self.source} is the same, to the last byte, as {self.equals}"
        return f"{self.source} is {self.equals}, which was left out earlier; to use it, add it by itself"


@dataclass(slots=True)
class Sorted:
    """Files to take, each with its place in the study where that is settled, and files to leave."""

    new: dict[Path, str] = field(default_factory=dict)
    left: list[Left] = field(default_factory=list)


@dataclass(slots=True)
class _Inventory:
    """The files of a study by size and by name."""

    root: Path
    listed: set[str]
    recorded: Mapping[str, str]
    """File to kind, of those that intake.csv knows."""
    by_size: dict[int, list[str]] = field(default_factory=dict)
    by_fold: dict[str, str] = field(default_factory=dict)
    marks: dict[str, str] = field(default_factory=dict)
    """File to sha256, of those that were looked into: exports of one instrument are often of one size."""

    def equal(self, path: Path, place: str, kind: str) -> str:
        """The file of the study with the content of ``path``, that of its own place or with a row first; empty where there is none.

        Logs of additions are alike wherever one protocol was followed: only one of the same name counts.
        """
        near = self.by_size.get(path.stat().st_size, [])
        if not near:
            return ""
        mark = sha256_of(path)
        for file in near:
            if file not in self.marks:
                self.marks[file] = sha256_of(self.root / file)
        same = [file for file in near if self.marks[file] == mark]
        if kind == "log":
            same = [file for file in same if PurePosixPath(file).name == path.name]
        return min(same, key=lambda file: (file != place, file not in self.listed, file), default="")

    def idle(self, file: str) -> bool:
        """Whether a file could have a row and has none."""
        raw = file.split("/")[0] in {"data", "images"} and self.recorded.get(file, "recording") in {
            "recording",
            "micrograph",
        }
        return raw and file not in self.listed


def sort_files(root: Path, found: Sequence[Path], draft: Draft, below: str) -> Sorted:
    """Part the files of a source into new ones and those the study has, by their bytes.

    A file of the study's folder without a row gets one: when the program was killed before it was
    written, and when the source holds nothing but such files (what a person left out stays out
    otherwise). Raises StudyError where a place is taken by a file of other content.
    """
    _fitting(below)
    there = _inventory(draft)
    out, asleep = Sorted(), dict[Path, str]()
    claimed: set[str] = set()
    fresh: dict[Path, str] = {}
    for path in found:
        place, kind = _place(root, path, below)
        same = there.equal(path, place, kind)
        if not same:
            fresh[path] = place
        elif there.idle(same) and same not in claimed:
            claimed.add(same)
            (asleep if same in there.recorded else out.new)[path] = same
        else:
            out.left.append(Left(source=_named(root, path), equals=same, listed=True))
    if fresh or out.new or out.left:
        out.left += [Left(source=_named(root, p), equals=f, listed=False) for p, f in asleep.items()]
    else:
        out.new |= asleep
    out.new |= dict.fromkeys(fresh, "")
    _no_clash(root, fresh, there)
    return out


def placed(root: Path, making: Path, taken: Sequence[Taken], *, back: contextlib.ExitStack) -> None:
    """Move new files to their places; ``back`` is told how to take each move back. Never writes over a file."""
    for one in taken:
        target = root / one.file
        if target.is_file() and sha256_of(target) == one.sha256:
            continue  # it stands there already, and only lacks its row
        for folder in reversed([p for p in target.parents if not p.exists()]):
            folder.mkdir()
            back.callback(_gone, folder)
        _move(making / one.file, target)
        back.callback(_gone, target)


def numbered(root: Path, making: Path, taken: Sequence[Taken]) -> list[Taken]:
    """The files, those that are no records under a name that is free in the study's notes."""
    used: set[str] = set()
    out = []
    for one in taken:
        file = one.file
        if one.kind == "other":
            tried = PurePosixPath(file)
            names = (tried, *(tried.with_name(f"{tried.stem}-{n}{tried.suffix}") for n in range(2, 10_000)))
            file = next(n.as_posix() for n in names if n.as_posix() not in used and not (root / n).exists())
            if file != one.file:
                (making / one.file).rename(making / file)
        used.add(file)
        out.append(replace(one, file=file))
    return out


def records(root: Path) -> Table | None:
    """intake.csv as a table, or None where there is none. Raises StudyError for one that intake did not write."""
    try:
        data = (root / INTAKE).read_bytes()
    except FileNotFoundError:
        return None
    try:
        table = read_table(data, ("file", "copied_from", "sha256", "bytes", "kind"))
    except StudyError:
        table = None
    if table is None or not {"file", "sha256"} <= set(table.columns):
        raise StudyError(
            f"{INTAKE} has no columns file and sha256 any more; rename it, then add the files again."
        )
    return table


def _inventory(draft: Draft) -> _Inventory:
    table = records(draft.root)
    made = _Inventory(
        root=draft.root,
        listed={row.cells.get(column, "") for row in draft.rows for column in ("file", "log")},
        recorded={r.cells.get("file", ""): r.cells.get("kind", "") for r in table.rows} if table else {},
    )
    for file in raw_files(draft.root):
        if file != INTAKE and inside(file, draft.root) is None:
            made.by_size.setdefault((draft.root / file).stat().st_size, []).append(file)
            made.by_fold[file.casefold()] = file
    return made


def _fitting(below: str) -> None:
    parts = below.split("/") if below else []
    if any(not p.strip() or p.startswith(".") or p != p.strip() for p in parts) or (
        printable(below) != below or any(ord(c) < 32 or c in '\\:*?"<>|' for c in below)
    ):
        raise StudyError(f"{below!r} is no name for a folder below data/; give one such as '2026-12-01'.")


def _place(root: Path, path: Path, below: str) -> tuple[str, str]:
    """Where a file would stand in the study, and what it is taken for."""
    source = _named(root, path)
    kind = kind_of(path, name_parts(source))
    return place_of(PurePosixPath(source), kind, below), kind


def _no_clash(root: Path, fresh: Mapping[Path, str], there: _Inventory) -> None:
    """Raise where a new file would stand where another is, or outside of the study."""
    clashes, taken = [], dict(there.by_fold)
    for path, file in fresh.items():
        source = _named(root, path)
        wrong = inside(file, there.root)
        if wrong is not None:
            raise StudyError(f"{source!r} cannot be put into the study: {wrong}")
        if file.startswith("notes/"):
            continue  # nothing goes by the names of these: one that is taken gets a number
        other = taken.setdefault(file.casefold(), source)
        if other != source or (there.root / file).exists():
            clashes.append(
                (path, f"{source!r} would become {file!r}, where {other!r} with other content stands")
            )
    if clashes:
        path, _ = clashes[0]
        raise PlaceTakenError(
            f"Nothing was added, so that no file is written over: {listed((words for _, words in clashes), 3)}. "
            f"Rename the new {'file' if len(clashes) == 1 else 'files'} (such as {f'{path.stem}-2{path.suffix}'!r}), or put "
            "all that is new into a folder of its own below data/, such as '2026-12-01'."
        )


def _named(root: Path, path: Path) -> str:
    return path.relative_to(root).as_posix()


def _move(source: Path, target: Path) -> None:
    """Give a file its place, which must be free also when another program looks at it in this moment."""
    try:
        os.link(source, target)
    except FileExistsError:
        raise StudyError(
            f"another program has put a file at {target.name!r} meanwhile; nothing was added."
        ) from None
    except (OSError, NotImplementedError, AttributeError):
        # No second names on this disk: the place is taken with an empty file, which is then replaced.
        with target.open("xb"):
            pass
        source.replace(target)
        return
    source.unlink()


def _gone(path: Path) -> None:
    with contextlib.suppress(OSError):
        path.rmdir() if path.is_dir() else path.unlink()
