"""Work spread over the local cores, each piece kept by content.

A task is a module-level function of recordings and plain inputs that returns a frozen result.
In a worker it returns the result or a Problem; it never raises across processes.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from halfcell.cache import Cache, code_fingerprint, key_of
from halfcell.errors import HalfcellError, Problem, as_problem
from halfcell.pipeline.pool import pool, prepare, starting

if TYPE_CHECKING:
    from pathlib import Path

Loader = Callable[..., Any]
"""loader(folder, file, options) -> Recording or Micrograph."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One piece of work: the files it reads (with how to read each) and its other inputs."""

    files: tuple[tuple[str, Mapping[str, Any]], ...] = ()
    """(path in the folder, options for the loader), in the order the task takes them."""
    inputs: Mapping[str, Any] = field(default_factory=dict)
    about: str = ""
    """What it is about, for a problem: an electrode's or a file's name."""


class Stopped(HalfcellError):
    """The person stopped the analysis; what was finished is kept."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Crew:
    """Runs jobs: from the cache where they are known, else on the cores."""

    folder: Path
    loader: Loader
    hashes: Mapping[str, str]
    cache: Cache
    cores: int = 1
    progress: Callable[[str, int, int], None] | None = None
    """progress(what, done, of)."""
    stop: threading.Event | None = None
    pool: list[ProcessPoolExecutor] = field(default_factory=list)
    """At most one pool, made when first needed."""
    few: int = 1
    """Pieces of work that are done here rather than begin workers for them."""
    read: set[str] = field(default_factory=set)
    """Files that the pieces of work so far rest on."""
    failed: list[str] = field(default_factory=list)
    """What the pieces of work were about that gave a problem instead of a result."""

    def each(self, task: Callable[..., Any], jobs: Sequence[Job], *, what: str) -> list[Any]:
        """The result, or the Problem, of each job in order. ``what`` is shown while it runs."""
        results = self._all(task, jobs, what)
        self.failed.extend(result.file for result in results if isinstance(result, Problem))
        return results

    def _all(self, task: Callable[..., Any], jobs: Sequence[Job], what: str) -> list[Any]:
        self.read.update(path for job in jobs for path, _ in job.files)
        keys = [self._key(task, job) for job in jobs]
        results = [self.cache.get(key) for key in keys]
        todo = [i for i, result in enumerate(results) if result is None]
        done = len(jobs) - len(todo)
        self._say(what, done, len(jobs))
        if self.cores <= 1 or len(todo) <= (1 if self.pool else self.few):
            for i in todo:
                results[i] = self._keep(keys[i], perform(task, self.folder, self.loader, jobs[i]))
                done += 1
                self._say(what, done, len(jobs))
            return results
        workers = self._pool()
        with starting():
            waiting = {workers.submit(perform, task, self.folder, self.loader, jobs[i]): i for i in todo}
        try:
            while waiting:
                ready, _ = wait(waiting, timeout=0.2, return_when=FIRST_COMPLETED)
                for future in ready:
                    i = waiting.pop(future)
                    results[i] = self._keep(keys[i], future.result())
                    done += 1
                self._say(what, done, len(jobs))
        except BrokenProcessPool:
            self.close()
            raise HalfcellError(
                f"{what}: the system ended a part of the work, most likely for want of memory; use fewer cores. What was finished is kept."
            ) from None
        except BaseException:
            for future in waiting:
                future.cancel()
            raise
        return results

    def one(self, task: Callable[..., Any], job: Job, *, what: str) -> Any:
        """The result, or the Problem, of a single job."""
        return self.each(task, [job], what=what)[0]

    def prepare(self) -> None:
        """Have workers made ready in the background: there will be much to do."""
        if self.cores > 1:
            prepare()

    def close(self) -> None:
        """End the workers."""
        while self.pool:
            self.pool.pop().shutdown(wait=True, cancel_futures=True)

    def _pool(self) -> ProcessPoolExecutor:
        if not self.pool:
            self.pool.append(pool(self.cores))
        return self.pool[0]

    def _key(self, task: Callable[..., Any], job: Job) -> str:
        files = [[self.hashes.get(path, ""), dict(options), path] for path, options in job.files]
        return key_of(code_fingerprint(), f"{task.__module__}.{task.__qualname__}", files, dict(job.inputs))

    def _keep(self, key: str, result: Any) -> Any:
        if not isinstance(result, Problem):
            self.cache.put(key, result)
        return result

    def _say(self, what: str, done: int, of: int) -> None:
        if self.stop is not None and self.stop.is_set():
            raise Stopped("The analysis was stopped; what was finished is kept.")
        if self.progress is not None:
            self.progress(what, done, of)


def perform(task: Callable[..., Any], folder: Path, loader: Loader, job: Job) -> Any:
    """Read the files of a job and do its task; a Problem instead of an error a person can act on."""
    about = job.about or (job.files[0][0] if job.files else "")
    try:
        records = [loader(folder, path, **options) for path, options in job.files]
        return task(*records, **job.inputs)
    except HalfcellError as error:
        return as_problem(error, about=about)
    except MemoryError:
        return Problem(file=about, what="there is not enough memory for this file.", severity="error")
    except Exception as error:  # noqa: BLE001 - one file that fails must not take the rest of the study with it
        what = f"it could not be analysed, which is a fault of halfcell ({type(error).__name__}: {error}); please report it."
        return Problem(file=about, what=what, severity="error")
