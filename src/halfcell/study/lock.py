"""A lock on one file of a study, for the moment of a change. Works on every system."""

from __future__ import annotations

import contextlib
import os
import time
import uuid
from collections.abc import Iterator
from pathlib import Path

from halfcell.errors import StudyError
from halfcell.study.atomic import way_out

STALE = 5.0
"""Seconds after which a lock is taken to be that of a program that died (a change takes milliseconds)."""


@contextlib.contextmanager
def locked(path: Path, *, patience: float = 10.0, stale: float = STALE) -> Iterator[None]:
    """Hold the lock of ``path``; a lock older than ``stale`` seconds is taken over.

    Raises StudyError when it cannot be had within ``patience`` seconds.
    """
    lock = path.with_name(f".{path.name}.lock")
    token = uuid.uuid4().hex
    end = time.monotonic() + patience
    while not _take(lock, token, stale):
        if time.monotonic() > end:
            raise StudyError(f"{path.name} is being changed by another program; try again in a moment.")
        time.sleep(0.02)
    try:
        yield
    finally:
        if _holder(lock) == token:
            with contextlib.suppress(OSError):
                lock.unlink()


def _take(lock: Path, token: str, stale: float) -> bool:
    try:
        handle = os.open(lock, os.O_CREAT | os.O_EXCL | os.O_WRONLY)
    except FileExistsError:
        _clear(lock, stale)
        return False
    except PermissionError as error:
        if os.name == "nt" and lock.exists():  # a lock that is just being removed
            return False
        raise _refused(lock, error) from None
    except OSError as error:
        raise _refused(lock, error) from None
    try:
        with os.fdopen(handle, "w", encoding="ascii") as out:
            out.write(token)
    except OSError as error:  # a full disk
        with contextlib.suppress(OSError):
            lock.unlink()
        raise _refused(lock, error) from None
    return True


def _refused(lock: Path, error: OSError) -> StudyError:
    return StudyError(
        f"Nothing was written: the folder {lock.parent.name!r} cannot be written to ({error.strerror}). {way_out(error)}"
    )


def _clear(lock: Path, stale: float) -> None:
    """Remove a stale lock: moved aside first, and put back should it turn out to be another's new one."""
    with contextlib.suppress(OSError):
        before = _holder(lock)
        if time.time() - lock.stat().st_mtime < stale:
            return
        aside = lock.with_name(f"{lock.name}.{uuid.uuid4().hex}")
        lock.rename(aside)
        if _holder(aside) != before:
            with contextlib.suppress(OSError):
                os.link(aside, lock)
        aside.unlink()


def _holder(lock: Path) -> str:
    try:
        return lock.read_text("ascii")
    except (OSError, UnicodeDecodeError):
        return ""
