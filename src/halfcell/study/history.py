"""Undo and redo of all that a person changed in the files of one study, also after the program ended.

Each step holds, for each file it changed, the state before and the state after; a state is kept once,
packed, under its hash. The history lies outside the study folder, in one JSON file that is replaced
in one step; losing it loses no decision, only the way back.
"""

from __future__ import annotations

import base64
import contextlib
import datetime as dt
import json
import zlib
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from halfcell.errors import HalfcellError, StudyError
from halfcell.study.atomic import Written, content, hash_of, write_atomically
from halfcell.study.changes import step_words
from halfcell.study.lock import locked
from halfcell.study.merge import merged

FILES = ("study.toml", "runs.csv", "adjustments.toml")

_MOST_STEPS = 200
_MOST_BYTES = 2_000_000
"""Of the history's own file (common practice, no source)."""
_LARGEST = 64_000_000
"""Bytes of one state of one file; a larger one is not kept."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One change that can be taken back: what it did in words, and (file, hash before, hash after) of each file."""

    what: str
    when: str
    files: tuple[tuple[str, str, str], ...]

    @property
    def adds_files(self) -> bool:
        """Whether it gave files a row; the files themselves stay when it is taken back."""
        return self.what.partition(" (")[0].endswith((" file added", " files added"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """How many steps can be taken back and made again, and in words which one would be the next."""

    undo: int
    redo: int
    undo_what: str
    redo_what: str


@dataclass(slots=True)
class _Book:
    done: list[Step] = field(default_factory=list)
    undone: list[Step] = field(default_factory=list)
    states: dict[str, str] = field(default_factory=dict)
    """Hash to packed bytes."""


@dataclass(slots=True)
class History:
    """The steps of one study ``folder``, kept in the file ``store``."""

    folder: Path
    store: Path
    _unkept: _Book | None = None
    """The history itself where ``store`` cannot be written: it then lasts until the program ends."""

    def standing(self) -> Standing:
        """What can be taken back or made again now."""
        book = self._read()
        return Standing(
            undo=len(book.done),
            redo=len(book.undone),
            undo_what=book.done[-1].what if book.done else "",
            redo_what=book.undone[-1].what if book.undone else "",
        )

    def add(self, writes: Sequence[Written]) -> None:
        """Remember what was written as one step; several writes of one file are taken together."""
        changed: dict[str, tuple[bytes | None, bytes | None]] = {}
        for one in writes:
            if one.path.name in FILES and one.path.parent.resolve() == self.folder.resolve():
                first = changed.get(one.path.name, (one.before, None))[0]
                changed[one.path.name] = (first, one.after)
        changed = {name: states for name, states in changed.items() if states[0] != states[1]}
        if not changed or any(len(s or b"") > _LARGEST for states in changed.values() for s in states):
            return
        step = Step(
            what=step_words(changed),
            when=dt.datetime.now().astimezone().isoformat(timespec="seconds"),
            files=tuple((name, hash_of(a), hash_of(b)) for name, (a, b) in changed.items()),
        )
        with self._held():
            book = self._read()
            book.done.append(step)
            book.undone.clear()
            for state in (s for states in changed.values() for s in states if s is not None):
                book.states[hash_of(state)] = base64.b85encode(zlib.compress(state, 6)).decode("ascii")
            self._keep(book)

    def undo(self) -> Step:
        """Take the newest step back; what others changed since stays.

        Raises StudyError when there is none or a file cannot be written, MovedOnError when others
        changed the same thing; nothing is written then, with one exception: where a step changed two
        files and the second cannot be written, the first stays changed, and trying again completes it.
        """
        return self._turn(back=True)

    def redo(self) -> Step:
        """Make the step taken back last again. Raises as ``undo``."""
        return self._turn(back=False)

    def leave(self, *, back: bool) -> Step:
        """Pass over the step that ``undo`` (or ``redo``) would take: its change stays as it is, for good."""
        with self._held():
            book = self._read()
            step = _next(book, back=back)
            (book.done if back else book.undone).pop()
            self._keep(book)
            return step

    def _turn(self, *, back: bool) -> Step:
        with self._held():
            book = self._read()
            step = _next(book, back=back)
            with contextlib.ExitStack() as locks:
                plan = []
                for name, before, after in step.files:
                    path = self.folder / name
                    locks.enter_context(locked(path))
                    now = content(path)
                    base, target = (_state(book, h) for h in ((after, before) if back else (before, after)))
                    plan.append((path, now, merged(name, base, target, now)))
                for path, now, wanted in plan:
                    if wanted != now:
                        write_atomically(path, wanted, expected=hash_of(now))
            source, goal = (book.done, book.undone) if back else (book.undone, book.done)
            goal.append(source.pop())
            self._keep(book)
            return step

    @contextlib.contextmanager
    def _held(self) -> Any:
        """The lock of the store, where it can be had: a history that cannot be kept is still a history."""
        with contextlib.ExitStack() as stack:
            with contextlib.suppress(OSError, HalfcellError):
                self.store.parent.mkdir(parents=True, exist_ok=True)
                stack.enter_context(locked(self.store))
            yield

    def _read(self) -> _Book:
        if self._unkept is not None:
            return self._unkept
        try:
            return _book(json.loads(self.store.read_text("utf-8")), str(self.folder))
        except (OSError, ValueError, TypeError, KeyError, AttributeError):
            return _Book()

    def _keep(self, book: _Book) -> None:
        text = _packed(book, str(self.folder))
        try:
            write_atomically(self.store, text.encode())
            self._unkept = None
        except StudyError:
            self._unkept = book


def _next(book: _Book, *, back: bool) -> Step:
    steps = book.done if back else book.undone
    if not steps:
        raise StudyError("There is nothing to take back." if back else "There is nothing to make again.")
    return steps[-1]


def _state(book: _Book, mark: str) -> bytes | None:
    if not mark:
        return None
    try:
        state = zlib.decompressobj().decompress(base64.b85decode(book.states[mark]), _LARGEST)
    except (KeyError, ValueError, zlib.error):
        state = b""
    if hash_of(state) != mark:
        raise StudyError("What this step changed is no longer kept; nothing was written.")
    return state


def _packed(book: _Book, folder: str) -> str:
    """The history as text, its oldest steps dropped until it is small enough."""
    while True:
        book.done = book.done[-_MOST_STEPS:]
        used = {mark for step in (*book.done, *book.undone) for _, *marks in step.files for mark in marks}
        book.states = {mark: state for mark, state in book.states.items() if mark in used}
        told = {
            "format": 1,
            "folder": folder,
            "done": [{"what": s.what, "when": s.when, "files": s.files} for s in book.done],
            "undone": [{"what": s.what, "when": s.when, "files": s.files} for s in book.undone],
            "states": book.states,
        }
        text = json.dumps(told)
        if len(text) <= _MOST_BYTES or len(book.done) + len(book.undone) <= 1:
            return text
        older = book.done or book.undone
        del older[: max(1, len(older) // 4)]


def _book(told: dict[str, Any], folder: str) -> _Book:
    """Raises ValueError, TypeError or KeyError for a file that is no history of this folder."""
    if told["format"] != 1 or told["folder"] != folder:
        raise ValueError("another history")

    def steps(entries: Any) -> list[Step]:
        out = []
        for one in entries:
            files = tuple((str(n), str(a), str(b)) for n, a, b in one["files"])
            if any(name not in FILES for name, _, _ in files):
                raise ValueError("a file that is none of a study's")
            out.append(Step(what=str(one["what"]), when=str(one["when"]), files=files))
        return out

    states = {str(mark): str(state) for mark, state in told["states"].items()}
    return _Book(done=steps(told["done"]), undone=steps(told["undone"]), states=states)
