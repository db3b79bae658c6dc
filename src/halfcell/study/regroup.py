"""Which file is what, as a person has put it right: runs.csv and the electrodes and solutions it names."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from halfcell.errors import StudyError
from halfcell.study.edit import StudyEdit
from halfcell.study.edit_runs import RunsEdit
from halfcell.study.intake_names import made_of
from halfcell.study.translate import BLANK

_GUESSED = {"material", "role", "recipe", "batch"}
_KEYS = ("material", "role", "recipe", "batch", "area")


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """A cell of runs.csv to change: its file, its column, what stood there when the person looked, and the new text."""

    file: str
    column: str
    was: str
    value: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Regrouping:
    """What a person changed. ``electrodes`` maps a name to the keys to write for it."""

    cells: tuple[Cell, ...] = ()
    left_out: tuple[str, ...] = ()
    """Files whose row is taken out of runs.csv; the files stay."""
    electrodes: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    checked: bool = False
    """Whether every row was looked at, so that no guess is marked any longer."""


def regroup(folder: str | Path, change: Regrouping) -> None:
    """Write the changes; electrodes and solutions that are new get a table, with "?" where only a person knows.

    An electrode that lost all its files goes where a new one took over its keys, or where no more is
    known of it than was guessed. Raises StudyError where a cell was changed meanwhile, or one of the
    files cannot be written; study.toml is written first, so that no row ever names what is not there.
    """
    runs, edit = RunsEdit(folder), StudyEdit(folder)
    before = {number: dict(cells) for number, cells in runs.rows.items()}
    at = {cells.get("file", ""): number for number, cells in before.items()}
    for cell in change.cells:
        _set(runs, before, at, cell)
    _guesses(runs, before, at, change)
    for file in change.left_out:
        if file not in at:
            raise StudyError(f"runs.csv has no row for {file!r}.")
    after = {n: cells for n, cells in runs.rows.items() if cells.get("file", "") not in change.left_out}
    handed_on = _electrodes(edit, before, after, change.electrodes)
    _solutions(edit, after)
    for number in sorted((at[file] for file in change.left_out), reverse=True):
        runs.remove(number)
    edit.save(unfinished=True)
    runs.save()
    gone = {c.get("electrode", "") for c in before.values()} - {
        c.get("electrode", "") for c in after.values()
    }
    _remove(folder, gone, handed_on)


def _set(runs: RunsEdit, before: Mapping[int, Mapping[str, str]], at: Mapping[str, int], cell: Cell) -> None:
    if cell.file not in at:
        raise StudyError(f"runs.csv has no row for {cell.file!r} any more. Nothing was written.")
    now = before[at[cell.file]].get(cell.column, "")
    if now != cell.was:
        raise StudyError(
            f"{cell.file}, {cell.column}: changed to {now!r} by another window or by hand meanwhile. Nothing was written."
        )
    runs.set(at[cell.file], cell.column, cell.value)


def _guesses(
    runs: RunsEdit, before: Mapping[int, Mapping[str, str]], at: Mapping[str, int], change: Regrouping
) -> None:
    """Take the marks off what a person has said."""
    said: dict[int, set[str]] = {}
    for cell in change.cells:
        said.setdefault(at[cell.file], set()).add(cell.column)
    for number, cells in before.items():
        note = cells.get("guessed", "")
        left = "" if change.checked else without(note, said.get(number, set()))
        if note != left:
            runs.set(number, "guessed", left)


def without(note: str, columns: set[str]) -> str:
    """A note of guesses ("electrode, solution from the name; …") without some columns."""
    kept = []
    for sentence in note.split("; ") if note else ():
        about, mark, told_by = sentence.partition(" from ")
        left = [c for c in about.split(", ") if c not in columns]
        if left:
            kept.append(", ".join(left) + mark + told_by)
    return "; ".join(kept)


def _electrodes(
    edit: StudyEdit,
    before: Mapping[int, Mapping[str, str]],
    after: Mapping[int, Mapping[str, str]],
    said: Mapping[str, Mapping[str, str]],
) -> set[str]:
    """Add and set what is said; gives the electrodes whose keys a new one took over."""
    handed_on = set()
    for number, cells in after.items():
        name = cells.get("electrode", "")
        if not name or name == BLANK or edit.get(("electrodes", name)) is not None:
            continue
        was = before[number].get("electrode", "")
        old = edit.get(("electrodes", was)) or {}
        handed_on.add(was)
        guess = made_of(name)
        edit.add_electrode(
            name, {**old, "material": guess.material, "role": guess.role, "area": old.get("area", BLANK)}
        )
    for name, keys in said.items():
        if edit.get(("electrodes", name)) is None:
            raise StudyError(f"There is no electrode {name!r}.")
        for key, value in keys.items():
            if key not in _KEYS:
                raise StudyError(f"{key!r} is not a key of an electrode that is written here.")
            where = ("electrodes", name, key)
            if value:
                edit.set(where, value)
            elif edit.get(where) is not None:
                edit.remove(where)
    return handed_on


def _solutions(edit: StudyEdit, after: Mapping[int, Mapping[str, str]]) -> None:
    for cells in after.values():
        name = cells.get("solution", "")
        if name and name != BLANK and edit.get(("solutions", name)) is None:
            edit.add_solution(name, {"description": BLANK})


def _remove(folder: str | Path, gone: set[str], handed_on: set[str]) -> None:
    """Take electrodes without files out of study.toml, where nothing is lost with them."""
    edit, changed = StudyEdit(folder), False
    for name in sorted(gone):
        table: Any = edit.get(("electrodes", name))
        if isinstance(table, dict) and (name in handed_on or _only_guessed(table)):
            edit.remove(("electrodes", name))
            changed = True
    if changed:
        edit.save(unfinished=True)


def _only_guessed(table: Mapping[str, Any]) -> bool:
    return {key for key, value in table.items() if value != BLANK} <= _GUESSED
