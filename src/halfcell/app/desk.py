"""What the server has on its desk: one study folder, its newest analysis, and the work under way."""

from __future__ import annotations

import hashlib
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from halfcell.app.jobs import Background
from halfcell.app.watched import Watched
from halfcell.errors import HalfcellError, Problem, StudyError
from halfcell.study.draft import ADJUSTMENTS, RUNS, STUDY

if TYPE_CHECKING:
    from halfcell.pipeline import Analysis
    from halfcell.study.atomic import Written
    from halfcell.study.decisions import Decisions
    from halfcell.study.history import History
    from halfcell.study.model import Run
    from halfcell.study.study import Study

FILES = (STUDY, RUNS, ADJUSTMENTS)


@dataclass(slots=True)
class Desk:
    """The state of one server. Everything that lasts is in the folder; this can be lost."""

    folder: Path | None
    cores: int | None = None
    analysis: Analysis | None = None
    analysed: str = ""
    """Edition of the folder that ``analysis`` belongs to."""
    background: Background = field(init=False)
    _opened: tuple[str, Study | None, tuple[Problem, ...]] | None = None
    _asked: str = ""
    _history: History | None = None
    _watched: Watched = field(default_factory=Watched)
    _lock: threading.RLock = field(default_factory=threading.RLock)

    def __post_init__(self) -> None:
        self.background = Background(finished=self._take, cores=self.cores)
        self._clean()

    def put(self, folder: Path) -> None:
        """Lay another study on the desk."""
        with self._lock:
            self.background.stop()
            self.folder, self.analysis, self.analysed, self._opened, self._asked = folder, None, "", None, ""
            self._clean()

    def edition(self) -> str:
        """A hash of the folder: it changes when a person or a window edits it, or a raw file is replaced."""
        digest = hashlib.sha256()
        folder = self.folder
        for name in FILES if folder else ():
            try:
                data = (Path(str(folder)) / name).read_bytes()
            except OSError:
                digest.update(b"absent")
                continue
            digest.update(name.encode() + b"\0" + data)
            if name == RUNS:
                digest.update(self._watched.state(Path(str(folder)), data))
        return digest.hexdigest()[:16]

    def study(self) -> Study:
        """The study as it is in the folder now. Raises StudyError with every problem."""
        _, study, problems = self._look()
        if study is None:
            raise StudyError("The study folder has mistakes.", problems=problems)
        return study

    def problems(self) -> tuple[Problem, ...]:
        """What is wrong with the folder now."""
        return self._look()[2]

    def refresh(self) -> None:
        """Analyse the folder in the background unless this edition has been asked for already."""
        with self._lock:
            edition = self.edition()
            if self.folder is None or edition == self._asked:
                return
            if self._look()[1] is None:
                return
            self._asked = edition
            self.background.start(self.study, edition)

    def current(self, seconds: float = 120.0) -> Analysis:
        """The analysis of the folder as it is now, waiting for it if it is under way.

        Raises StudyError where there is none: numbers of an earlier state are never handed out as those of now.
        """
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            self.refresh()
            with self._lock:
                if self.analysis is not None and self.analysed == self.edition():
                    return self.analysis
            if self.background.progress.state != "working":
                break
            self.background.wait(min(1.0, max(0.0, end - time.monotonic())))
        with self._lock:
            if self.analysis is not None and self.analysed == self.edition():
                return self.analysis
        raise StudyError(
            "The numbers of the folder as it is now are not found yet: wait for the bar at the left to end, or mend what is wrong."
        )

    def again(self) -> None:
        """Analyse anew, also when nothing changed (after a stop)."""
        with self._lock:
            self._asked = ""
            self.refresh()

    def run(self, number: int) -> Run:
        """A run by its place in runs.csv (from 0). Raises StudyError for a number out of range."""
        runs = self.study().runs
        if not 0 <= number < len(runs):
            raise StudyError(f"There is no record number {number + 1}; the study has {len(runs)}.")
        return runs[number]

    def opened(self) -> Path:
        """The folder of the study. Raises StudyError when none is open."""
        if self.folder is None:
            raise StudyError("No study is open. Choose a folder, or start a new study.")
        return self.folder

    def history(self) -> History:
        """Undo and redo of what was changed in this study through the app, today or earlier."""
        from halfcell.app.kept import history_of
        from halfcell.study.history import History

        with self._lock:
            folder = self.opened()
            if self._history is None or self._history.folder != folder:
                self._history = History(folder=folder, store=history_of(folder))
            return self._history

    @contextmanager
    def edit(self) -> Iterator[Path]:
        """The folder, to be written to: what is written inside becomes one step that can be taken back.

        One edit at a time. Raises StudyError when no study is open.
        """
        from halfcell.study.atomic import written

        with self._lock:
            history, folder = self.history(), self.opened()
            with written() as writes:
                try:
                    yield folder
                finally:
                    history.add(writes)
        self.refresh()

    def done(self, folder: Path, writes: Sequence[Written]) -> None:
        """Remember what was written to the folder without holding the desk as one step that can be taken back."""
        with self._lock:
            if folder == self.folder:
                self.history().add(writes)
        self.refresh()

    def write(self, decisions: list[dict[str, Any]], replaces: list[dict[str, Any]]) -> Decisions:
        """Put decisions on disk in one step, taking out those they replace."""
        from halfcell.study.decisions import change

        with self.edit() as folder:
            return change(folder, add=decisions, without=replaces)

    def _look(self) -> tuple[str, Study | None, tuple[Problem, ...]]:
        from halfcell.study import open_study

        with self._lock:
            edition = self.edition()
            if self._opened is None or self._opened[0] != edition:
                if self.folder is None:
                    raise StudyError("No study is open. Choose a folder, or start a new study.")
                try:
                    self._opened = (edition, open_study(self.folder), ())
                except HalfcellError as error:
                    found = error.problems or (Problem(file="study.toml", what=str(error)),)
                    self._opened = (edition, None, tuple(found))
            return self._opened

    def _clean(self) -> None:
        from halfcell.study.atomic import sweep

        if self.folder is not None:
            sweep(self.folder)

    def _take(self, analysis: Analysis, edition: str) -> None:
        with self._lock:
            if analysis.study.folder == self.folder:
                self.analysis, self.analysed = analysis, edition
