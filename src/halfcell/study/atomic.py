"""Writing a small file so that it is whole at every moment, and only over what was read."""

from __future__ import annotations

import contextlib
import hashlib
import os
import tempfile
from pathlib import Path

from halfcell.errors import StudyError


def content_hash(path: Path) -> str:
    """The sha256 of a file's bytes; empty when there is no such file."""
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except FileNotFoundError:
        return ""


def write_atomically(path: Path, data: bytes, *, expected: str | None = None) -> str:
    """Put ``data`` in place in one step; the hash of what now stands there.

    The bytes go to a new file beside it, to the disk, and are then moved over: a killed program
    or a full disk leaves the old file. ``expected`` is the ``content_hash`` the change was made
    from. Raises StudyError when another program has changed the file since, and when the file
    cannot be written.
    """
    if expected is not None and content_hash(path) != expected:
        raise StudyError(
            f"{path.name} was changed by someone else meanwhile; nothing was written. Read it again and repeat the change."
        )
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    except OSError as error:
        raise StudyError(f"{path.name} cannot be written ({error.strerror}).") from None
    try:
        with os.fdopen(handle, "wb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        with contextlib.suppress(OSError):
            Path(name).chmod(path.stat().st_mode & 0o777 if path.exists() else 0o644)
        Path(name).replace(path)
    except OSError as error:
        Path(name).unlink(missing_ok=True)
        raise StudyError(f"{path.name} cannot be written ({error.strerror}); the old file stands.") from None
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
    return hashlib.sha256(data).hexdigest()
