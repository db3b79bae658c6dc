"""One analysis at a time, in the background, with its progress told and a way to stop it."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from halfcell.app.memory import give_back
from halfcell.errors import HalfcellError

if TYPE_CHECKING:
    from halfcell.pipeline import Analysis
    from halfcell.study import Study


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """What the background is doing: ``state`` is "idle", "working", "stopped", "failed" or "done"."""

    state: str = "idle"
    step: str = ""
    done: int = 0
    of: int = 0
    problem: str = ""
    number: int = 0
    """Counts up with every change, so that a page knows whether it has seen this."""


@dataclass(slots=True)
class Background:
    """Runs analyses in a thread; a newer request ends the one under way."""

    finished: Callable[[Analysis, str], None]
    cores: int | None = None
    _progress: Progress = field(default_factory=Progress)
    _lock: threading.Lock = field(default_factory=threading.Lock)
    _stop: threading.Event | None = None
    _thread: threading.Thread | None = None

    @property
    def progress(self) -> Progress:
        """The state now."""
        return self._progress

    def start(self, study: Callable[[], Study], edition: str) -> None:
        """Analyse a study (opened in the background too), ending what was under way.

        ``edition`` is handed on with the result: it says which state of the folder the numbers are of.
        """
        with self._lock:
            before, stop = self._thread, threading.Event()
            if self._stop is not None:
                self._stop.set()
            self._stop = stop
            self._say(state="working", step="Opening the study", done=0, of=0, problem="")
            self._thread = threading.Thread(
                target=self._run, args=(study, edition, stop, before), daemon=True
            )
            self._thread.start()

    def stop(self) -> None:
        """Ask what is under way to end; what it finished is kept."""
        if self._stop is not None:
            self._stop.set()

    def wait(self, seconds: float) -> None:
        """Wait for the work under way to end, at most so long."""
        if self._thread is not None:
            self._thread.join(seconds)

    def _run(
        self, study: Callable[[], Study], edition: str, stop: threading.Event, before: threading.Thread | None
    ) -> None:
        from halfcell.pipeline import Stopped, analyze

        if before is not None:
            before.join()
        last = 0.0

        def tell(step: str, done: int, of: int) -> None:
            nonlocal last
            now = time.monotonic()
            if self._stop is stop and (now - last > 0.1 or done == of):
                last = now
                self._say(state="working", step=step, done=done, of=of)

        try:
            analysis = analyze(study(), cores=self.cores, progress=tell, stop=stop)
            if self._stop is stop:
                self.finished(analysis, edition)
                self._say(state="done", step="", done=0, of=0, problem="")
        except Stopped:
            if self._stop is stop:
                self._say(
                    state="stopped", step="", problem="The analysis was stopped. What was finished is kept."
                )
        except HalfcellError as error:
            if self._stop is stop:
                self._say(state="failed", step="", problem=str(error))
        except Exception as error:  # noqa: BLE001 - a page must hear of every failure
            if self._stop is stop:
                self._say(
                    state="failed",
                    step="",
                    problem=f"The analysis failed in a way that was not foreseen ({type(error).__name__}: {error}).",
                )
        finally:
            give_back()

    def _say(self, **changes: object) -> None:
        self._progress = replace(self._progress, number=self._progress.number + 1, **changes)  # type: ignore[arg-type]
