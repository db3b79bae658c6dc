"""The readers that are known: those of this package, and any an installed package adds.

A package adds a reader by an entry point in the group ``halfcell.readers`` whose object has

    name: str
    sniff(path: Path, first_bytes: bytes) -> float      # 0 (not mine) to 1 (certainly mine)
    read(path: Path, *, name: str, sha256: str, hints: Mapping) -> Recording
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any, Protocol

from halfcell.errors import HalfcellError, ReadError
from halfcell.readers.hints import Hints, checked
from halfcell.readers.source import sha256 as hash_of
from halfcell.recording import Recording

GROUP = "halfcell.readers"
OWN = "delimited text"
_FIRST_BYTES = 4096
_SURE = 0.5
_LARGE = 16_000_000


class Reader(Protocol):
    """What a reader is."""

    name: str

    def sniff(self, path: Path, first_bytes: bytes) -> float:
        """How sure the reader is that a file is of its format, 0 to 1."""

    def read(self, path: Path, *, name: str, sha256: str, hints: Mapping[str, Any]) -> Recording:
        """The recording in SI units. Raises ReadError in words for people."""


@functools.cache
def added() -> dict[str, Reader | str]:
    """Readers of installed packages by name; a text instead says why one could not be loaded."""
    from importlib.metadata import entry_points

    found: dict[str, Reader | str] = {}
    for entry in entry_points(group=GROUP):
        try:
            made = entry.load()
            found[entry.name] = made() if isinstance(made, type) else made
        except Exception as error:  # noqa: BLE001 - another's package may fail in any way; it must not stop reading
            found[entry.name] = (
                f"the reader {entry.name!r} of an installed package cannot be loaded ({type(error).__name__}: {error})"
            )
    return found


def read(path: str | Path, *, name: str = "", hints: Mapping[str, Any] | None = None) -> Recording:
    """One recording from a raw file, in SI units, with what was taken for granted in ``assumed``.

    Parameters
    ----------
    path : the file.
    name : how the file is called in messages and in ``Recording.file``; its name if empty.
    hints : a person's words on how to read it: reader, columns, units, delimiter, decimal, skip,
        encoding, as in ``[readers.NAME]`` of study.toml; empty values are found by looking.

    Raises
    ------
    ReadError
        when the file cannot be read or understood: why, its lines, and the keys to write.
    """
    path = Path(path)
    name, hints = name or path.name, hints or {}
    options = checked(hints, name)
    reader = _chosen(path, name, options.reader)
    try:
        if reader is not None:
            return reader.read(path, name=name, sha256=hash_of(path, name), hints=hints)
        return _read_text(path, name, options)
    except HalfcellError:
        raise
    except MemoryError:
        raise ReadError(f"{name}: the file is too large for this machine's memory.") from None
    except Exception as error:
        if reader is None:
            raise
        said = f"{type(error).__name__}: {error}"
        raise ReadError(
            f"{name}: the reader {reader.name!r} of an installed package failed ({said})."
        ) from error


def _read_text(path: Path, name: str, options: Hints) -> Recording:
    """By this package's own reader; a large file is hashed while it is parsed."""
    from halfcell.readers.delimited import read_delimited

    if not path.is_file():
        raise ReadError(f"{name}: there is no such file.")
    if path.stat().st_size < _LARGE:
        digest = hash_of(path, name)
        return read_delimited(path, name=name, sha256=lambda: digest, hints=options)
    with ThreadPoolExecutor(1) as thread:
        meanwhile = thread.submit(hash_of, path, name)
        return read_delimited(path, name=name, sha256=meanwhile.result, hints=options)


def _chosen(path: Path, name: str, wanted: str) -> Reader | None:
    """The reader of an installed package for a file, or None for this package's own."""
    known = added()
    if wanted and wanted != OWN:
        reader = known.get(wanted)
        if reader is None:
            raise ReadError(
                f"{name}: there is no reader {wanted!r}; known are: {', '.join(map(repr, [OWN, *known]))}."
            )
        if isinstance(reader, str):
            raise ReadError(f"{name}: {reader}.")
        return reader
    usable = [reader for reader in known.values() if not isinstance(reader, str)]
    if wanted or not usable:
        return None
    try:
        with path.open("rb") as handle:
            first = handle.read(_FIRST_BYTES)
    except OSError:
        return None
    scores = [(_score(reader, path, first), at) for at, reader in enumerate(usable)]
    score, at = max(scores, key=lambda pair: pair[0])
    return usable[at] if score > _SURE else None


def _score(reader: Reader, path: Path, first: bytes) -> float:
    try:
        return float(reader.sniff(path, first))
    except Exception:  # noqa: BLE001 - another's package may fail in any way; then the file is not its own
        return 0.0
