"""Changing study.toml and keeping a person's comments, order and spelling of everything else."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import tomlkit
from pydantic import ValidationError
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT

from halfcell.errors import StudyError
from halfcell.study.atomic import write_atomically
from halfcell.study.draft import STUDY
from halfcell.study.lock import locked
from halfcell.study.model import StudyFile
from halfcell.study.toml import read_toml
from halfcell.study.translate import problems_of
from halfcell.study.words import count, meant


class StudyEdit:
    """study.toml opened for changes; nothing is written before ``save``.

    >>> edit = StudyEdit("my-study")                                     # doctest: +SKIP
    >>> edit.set("electrodes.Ni-1.area", "0.0707 cm^2")                  # doctest: +SKIP
    >>> edit.save()                                                      # doctest: +SKIP

    Keys are dotted texts or, where a name holds a dot, tuples of names; a position in a list
    counts from 1. Raises StudyError for a file that is not TOML.
    """

    def __init__(self, folder: str | Path) -> None:
        self.path = Path(folder) / STUDY
        try:
            data = self.path.read_bytes()
            self._document = tomlkit.parse(data.decode("utf-8-sig"))
        except OSError as error:
            raise StudyError(f"{STUDY} cannot be read ({error.strerror}).") from None
        except (UnicodeDecodeError, TOMLKitError, RecursionError, ValueError) as error:
            raise StudyError(f"{STUDY} cannot be changed before its mistakes are mended ({error}).") from None
        self._newline = "\r\n" if b"\r\n" in data else "\n"
        self._mark = data.startswith(b"\xef\xbb\xbf")
        self._hash = _hash(data)

    @property
    def text(self) -> str:
        """The file as it would be written."""
        return tomlkit.dumps(self._document)

    def get(self, key: str | tuple[str, ...]) -> Any:
        """The value of a key as plain data, or None."""
        here: Any = self._document
        for step in _steps(key):
            here = _child(here, step)
            if here is None:
                return None
        return here.unwrap() if hasattr(here, "unwrap") else here

    def set(self, key: str | tuple[str, ...], value: Any) -> None:
        """Give a key a value; tables on the way to it are made where they are lacking."""
        *way, last = _steps(key)
        here: Any = self._document
        for i, step in enumerate(way):
            below = _child(here, step)
            if below is None:
                here[step] = tomlkit.table(is_super_table=i < len(way) - 1)
                below = here[step]
            here = below
        if isinstance(here, list):
            here[int(last) - 1] = value
        else:
            _put(here, last, value)

    def remove(self, key: str | tuple[str, ...]) -> None:
        """Take a key or table out. Raises StudyError when it is not there."""
        *way, last = _steps(key)
        here: Any = self._document
        for step in way:
            here = _child(here, step)
        if here is None or _child(here, last) is None:
            raise StudyError(f"{STUDY} has no key {'.'.join(_steps(key))!r}.")
        del here[int(last) - 1 if isinstance(here, list) else last]

    def add_electrode(self, name: str, values: Mapping[str, Any]) -> None:
        """A new table [electrodes.NAME]. Raises StudyError when there is one of that name."""
        self._add("electrodes", name, values)

    def add_solution(self, name: str, values: Mapping[str, Any]) -> None:
        """A new table [solutions.NAME]. Raises StudyError when there is one of that name."""
        self._add("solutions", name, values)

    def add_reader(self, name: str, values: Mapping[str, Any]) -> None:
        """A new table [readers.NAME]. Raises StudyError when there is one of that name."""
        self._add("readers", name, values)

    def add_must(self, values: Mapping[str, Any]) -> None:
        """A further requirement, [[choice.musts]]."""
        self._append("musts", values)

    def add_want(self, values: Mapping[str, Any]) -> None:
        """A further wish, [[choice.wants]]."""
        self._append("wants", values)

    def set_weight(self, finding: str, weight: float, condition: str = "") -> None:
        """The weight of the want for a finding. Raises StudyError when there is no such want."""
        wants = self.get("choice.wants") or []
        for i, want in enumerate(wants, 1):
            if want.get("finding") == finding and want.get("condition", "") == condition:
                self.set(("choice", "wants", str(i), "weight"), float(weight))
                return
        names = [str(want.get("finding")) for want in wants]
        raise StudyError(f"the study has no want for {finding!r}; {meant(finding, names)}")

    def save(self, *, unfinished: bool = False) -> StudyFile | None:
        """Write the file, unless it was changed meanwhile or would be wrong.

        ``unfinished`` writes also with mistakes in it (a study being filled in) and then gives
        None. Raises StudyError with every mistake; the old file then stands.
        """
        text = self.text
        model, problem = _validated(text)
        if problem is not None and not unfinished:
            raise problem
        data = (
            text.replace("\r\n", "\n")
            .replace("\n", self._newline)
            .encode("utf-8-sig" if self._mark else "utf-8")
        )
        with locked(self.path):
            self._hash = write_atomically(self.path, data, expected=self._hash)
        return model

    def _add(self, kind: str, name: str, values: Mapping[str, Any]) -> None:
        if self.get((kind, name)) is not None:
            raise StudyError(f"{STUDY} already has [{kind}.{name}].")
        if self.get(kind) is None:
            self._document[kind] = tomlkit.table(is_super_table=True)
        table = tomlkit.table()
        table.update(values)
        parent: Any = self._document[kind]
        parent[name] = table

    def _append(self, kind: str, values: Mapping[str, Any]) -> None:
        table = tomlkit.table()
        table.update(values)
        if self.get("choice") is None:
            self._document["choice"] = tomlkit.table(is_super_table=True)
        choice: Any = self._document["choice"]
        if kind not in choice:
            choice[kind] = tomlkit.aot()
        entries = choice[kind]
        entries.append(table if isinstance(entries, AoT) else _inline(values))


def _inline(values: Mapping[str, Any]) -> Any:
    table = tomlkit.inline_table()
    table.update(values)
    return table


def _put(table: Any, key: str, value: Any) -> None:
    """A comment behind the old value stays behind the new one."""
    old = table.get(key)
    item = tomlkit.item(value)
    if old is not None and hasattr(old, "trivia") and not isinstance(value, (dict, list)):
        item.trivia.comment_ws, item.trivia.comment = old.trivia.comment_ws, old.trivia.comment
    table[key] = item


def _steps(key: str | tuple[str, ...]) -> tuple[str, ...]:
    return tuple(key.split(".")) if isinstance(key, str) else key


def _child(here: Any, step: str) -> Any:
    if isinstance(here, list):
        return here[int(step) - 1] if step.isdigit() and 1 <= int(step) <= len(here) else None
    return here.get(step) if isinstance(here, Mapping) else None


def _hash(data: bytes) -> str:
    import hashlib

    return hashlib.sha256(data).hexdigest()


def _validated(text: str) -> tuple[StudyFile | None, StudyError | None]:
    try:
        return StudyFile.model_validate(tomllib.loads(text)), None
    except tomllib.TOMLDecodeError as error:
        return None, StudyError(f"the change would make {STUDY} unreadable ({error}).")
    except ValidationError as error:
        place = read_toml(text, STUDY).place
        problems = tuple(problems_of(error, StudyFile, file=STUDY, place=place))
        lines = "\n".join(f"  {p}" for p in problems)
        return None, StudyError(
            f"{STUDY} was not changed, because of {count(len(problems), 'mistake')}:\n{lines}",
            problems=problems,
        )
