"""The raw files a study names: whether one came, went or was replaced while the study is open."""

from __future__ import annotations

import hashlib
import os
import time
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from halfcell.errors import StudyError

_EVERY = 1.0
"""Seconds between looks: many pages ask, each several times a second."""


@dataclass(slots=True)
class Watched:
    """The raw files of one folder, as they were when last looked at."""

    _last: tuple[tuple[Path, tuple[str, ...]], float, bytes] | None = None

    def state(self, folder: Path, runs: bytes) -> bytes:
        """A digest of size and time of change of every raw file that ``runs`` (the bytes of runs.csv) names.

        It lags behind by at most a second.
        """
        asked, now = (folder, named(runs)), time.monotonic()
        last = self._last  # one assignment: threads need no lock
        if last is None or last[0] != asked or now - last[1] > _EVERY:
            self._last = last = (asked, now, _stamped(*asked))
        return last[2]


@lru_cache(maxsize=4)
def named(runs: bytes) -> tuple[str, ...]:
    """The raw files and addition logs in the bytes of runs.csv; none where it cannot be read as a table."""
    from halfcell.study.table import read_table

    try:
        rows = read_table(runs, ("file", "log")).rows
    except StudyError:
        return ()
    cells = (row.cells.get(column, "") for row in rows for column in ("file", "log"))
    return tuple(dict.fromkeys(cell for cell in cells if cell))


def state_of_file(path: Path) -> str:
    """Time of change and size of a file, as a text that is another when the file is; "absent" where there is none."""
    try:
        status = os.stat(path)  # noqa: PTH116 - a thousand of them, several times a second
    except (OSError, ValueError):
        return "absent"
    return f"{status.st_mtime_ns} {status.st_size}"


def _stamped(folder: Path, files: tuple[str, ...]) -> bytes:
    return hashlib.sha256("\n".join(state_of_file(folder / file) for file in files).encode()).digest()
