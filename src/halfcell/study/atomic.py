"""Writing a small file so that it is whole at every moment, and only over what was read."""

from __future__ import annotations

import contextlib
import errno
import hashlib
import os
import shutil
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextvars import ContextVar
from dataclasses import dataclass
from pathlib import Path

from halfcell.errors import StudyError

ADDING = ".adding-"
"""What a folder begins with in which files are gathered before they are added to a study."""
_DAY = 86_400.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """One file that was written: its bytes before (None: there was no such file) and after (None: removed)."""

    path: Path
    before: bytes | None
    after: bytes | None


_WRITTEN: ContextVar[list[Written] | None] = ContextVar("_WRITTEN", default=None)


@contextlib.contextmanager
def written() -> Iterator[list[Written]]:
    """Collects what ``write_atomically`` puts on disk meanwhile, exactly as it found and left each file."""
    found: list[Written] = []
    mark = _WRITTEN.set(found)
    try:
        yield found
    finally:
        _WRITTEN.reset(mark)


def hash_of(data: bytes | None) -> str:
    """The sha256 of bytes; empty for None, a file that is not there."""
    return "" if data is None else hashlib.sha256(data).hexdigest()


def content(path: Path) -> bytes | None:
    """The bytes of a file; None when there is no such file."""
    try:
        return path.read_bytes()
    except FileNotFoundError:
        return None


def content_hash(path: Path) -> str:
    """The sha256 of a file's bytes; empty when there is no such file."""
    return hash_of(content(path))


def write_atomically(path: Path, data: bytes | None, *, expected: str | None = None) -> str:
    """Put ``data`` in place in one step (None: remove the file); the hash of what now stands there.

    The bytes go to a new file beside it, to the disk, and are then moved over: a killed program
    or a full disk leaves the old file. ``expected`` is the ``content_hash`` the change was made
    from. Raises StudyError when another program has changed the file since, and when the file
    cannot be written.
    """
    try:
        before = content(path)
    except OSError as error:
        raise StudyError(f"{path.name} cannot be read ({error.strerror}).") from None
    if expected is not None and hash_of(before) != expected:
        raise StudyError(
            f"{path.name} was changed by someone else meanwhile; nothing was written. Read it again and repeat the change."
        )
    try:
        if data is None:
            path.unlink(missing_ok=True)
        else:
            _moved_over(path, data)
    except OSError as error:
        raise StudyError(
            f"{path.name} cannot be written ({error.strerror}); the old file stands. {way_out(error)}"
        ) from None
    if (journal := _WRITTEN.get()) is not None and before != data:
        journal.append(Written(path=path, before=before, after=data))
    return hash_of(data)


def write_together(changes: Sequence[tuple[Path, bytes, bytes | None]]) -> None:
    """Put several files (path, new bytes, bytes it was made from) in place, all of them or none.

    All are on the disk before the first is moved over, so that a program killed in between is a
    matter of microseconds; after a failure the old files stand. Raises as ``write_atomically``.
    """
    parts: list[tuple[Path, Path, bytes, bytes | None]] = []
    moved: list[tuple[Path, bytes | None]] = []
    name = ""
    try:
        for path, data, before in changes:
            name = path.name
            if content(path) != before:
                raise StudyError(
                    f"{name} was changed by someone else meanwhile; nothing was written. Read it again and repeat the change."
                )
            parts.append((path, _beside(path, data), data, before))
        for path, part, _, before in parts:
            name = path.name
            part.replace(path)
            moved.append((path, before))
    except BaseException as error:
        for path, before in reversed(moved):
            with contextlib.suppress(OSError):
                path.unlink() if before is None else _moved_over(path, before)
        if isinstance(error, OSError):
            raise StudyError(
                f"{name} cannot be written ({error.strerror}); the old files stand. {way_out(error)}"
            ) from None
        raise
    finally:
        for _, part, _, _ in parts:
            with contextlib.suppress(OSError):
                part.unlink(missing_ok=True)
    if (journal := _WRITTEN.get()) is not None:
        journal += [Written(path=path, before=before, after=data) for path, _, data, before in parts]


def way_out(error: OSError) -> str:
    """What a person can do when a file cannot be written."""
    if error.errno in {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}:
        return "The disk, or one's share of it, is full: free some space, then do it again."
    if error.errno in {errno.EACCES, errno.EPERM, errno.EROFS}:
        return (
            "The study folder may not be written to: allow it, close other programs that hold the file, "
            "or copy the study to a folder of your own and open it there."
        )
    return "See that the disk with the study folder is there and answers, then do it again."


def sweep(folder: Path, *, older: float = 60.0) -> None:
    """Remove what a killed program left beside the files of a study while it wrote (never a file in use)."""
    for part in folder.glob(".*.part"):
        with contextlib.suppress(OSError):
            age = time.time() - part.stat().st_mtime
            if part.is_dir() and part.name.startswith(ADDING) and age > _DAY:
                shutil.rmtree(part, ignore_errors=True)
            elif age > older:
                part.unlink()


def _moved_over(path: Path, data: bytes) -> None:
    part = _beside(path, data)
    try:
        part.replace(path)
    except BaseException:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)
        raise


def _beside(path: Path, data: bytes) -> Path:
    """A new file on the disk beside ``path`` with such bytes and its rights."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    try:
        with os.fdopen(handle, "wb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        with contextlib.suppress(OSError):
            Path(name).chmod(path.stat().st_mode & 0o777 if path.exists() else 0o644)
    except BaseException:
        with contextlib.suppress(OSError):
            Path(name).unlink(missing_ok=True)
        raise
    return Path(name)
