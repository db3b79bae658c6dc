from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from halfcell.cache import Cache
from halfcell.results import Measured
from pipeline.test_workers import crew, jobs


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name in "ab":
        (tmp_path / name).write_text(name, encoding="utf-8")
    return tmp_path


def patient(text: str) -> Measured:
    """A task that says which process does it and goes on for a minute."""
    Path(text).write_text(str(os.getpid()), encoding="utf-8")
    time.sleep(60)
    return Measured(value=1.0)


PARENT = """
from pathlib import Path
from pipeline.test_pool import patient
from pipeline.test_workers import crew, jobs
crew(Path({folder!r}), cores=2).each(patient, jobs("e", "f"), what="Waiting")
"""


@pytest.mark.skipif(sys.platform == "win32", reason="asks a POSIX system whether a process lives")
def test_workers_end_with_a_parent_that_is_killed(folder: Path) -> None:
    told = [folder / "first", folder / "second"]
    for name, mark in zip("ef", told, strict=True):
        (folder / name).write_text(str(mark), encoding="utf-8")
    path = os.pathsep.join([str(Path(__file__).parent.parent), *sys.path])
    parent = subprocess.Popen(
        [sys.executable, "-c", PARENT.format(folder=str(folder))], env=os.environ | {"PYTHONPATH": path}
    )
    wait_for(lambda: all(mark.is_file() and mark.read_text() for mark in told))
    parent.kill()
    parent.wait()
    wait_for(lambda: not any(lives(int(mark.read_text())) for mark in told))


def lives(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    # One that has ended and that nobody has asked about yet counts as ended.
    status = Path(f"/proc/{process}/stat")
    return not status.is_file() or status.read_text().rsplit(")", 1)[1].split()[0] != "Z"


def wait_for(happened: Callable[[], bool], most: float = 50.0) -> None:
    end = time.monotonic() + most
    while not happened():
        assert time.monotonic() < end, "it did not happen"
        time.sleep(0.05)


def threads(_text: str) -> Measured:
    """A task that tells how many threads linear algebra may use here."""
    return Measured(value=float(os.environ["OMP_NUM_THREADS"]))


def test_each_worker_uses_one_thread_and_the_parent_keeps_its_settings(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("OMP_NUM_THREADS", raising=False)
    before = dict(os.environ)
    several = crew(folder, cores=2, cache=Cache(None))
    try:
        told = several.each(threads, jobs("a", "b"), what="Asking")
    finally:
        several.close()
    assert [t.value for t in told] == [1.0, 1.0]
    assert dict(os.environ) == before


def ready(_text: str) -> Measured:
    """A task that tells whether what most work needs was there before it began."""
    return Measured(value=float("scipy.stats" in sys.modules))


def test_workers_begin_ready_where_the_system_copies_processes(folder: Path) -> None:
    several = crew(folder, cores=2, cache=Cache(None))
    try:
        told = several.each(ready, jobs("a", "b"), what="Asking")
    finally:
        several.close()
    assert [t.value for t in told] == ([1.0, 1.0] if sys.platform == "linux" else [0.0, 0.0])
