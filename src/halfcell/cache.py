"""Results kept by content, in a data-only format, in the user's cache directory.

An entry's name is the hash of everything it depends on (bytes of the inputs, settings, code of
the methods), so that an entry is never wrong, only unused. Entries are written to a temporary
name and moved into place: a killed run leaves the cache valid, two processes may share it.
"""

from __future__ import annotations

import contextlib
import functools
import hashlib
import importlib
import io
import json
import os
import tempfile
from dataclasses import dataclass, fields, is_dataclass
from pathlib import Path
from typing import Any

import numpy as np

_LARGEST = 2_000_000_000
"""Bytes above which the oldest entries are removed (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Cache:
    """Entries under one directory; ``folder`` None keeps nothing."""

    folder: Path | None

    def get(self, key: str) -> Any | None:
        """The stored result, or None; a damaged entry counts as absent and is removed."""
        if self.folder is None:
            return None
        path = self._path(key)
        try:
            data = path.read_bytes()
        except OSError:
            return None
        try:
            result = decode(data)
        except Exception:  # noqa: BLE001 - whatever is wrong with it, it is computed again
            with contextlib.suppress(OSError):
                path.unlink()
            return None
        with contextlib.suppress(OSError):
            os.utime(path)
        return result

    def put(self, key: str, result: Any) -> None:
        """Store a result; a full or read-only disk is no error, the work is just not kept."""
        if self.folder is None:
            return
        path = self._path(key)
        with contextlib.suppress(OSError):
            path.parent.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(dir=path.parent, suffix=".part")
            try:
                with os.fdopen(handle, "wb") as out:
                    out.write(encode(result))
                Path(name).replace(path)
            except BaseException:
                Path(name).unlink(missing_ok=True)
                raise

    def sweep(self, largest: int = _LARGEST) -> int:
        """Remove the entries used longest ago until the cache is small enough; bytes removed."""
        if self.folder is None or not self.folder.is_dir():
            return 0
        entries = []
        for path in self.folder.glob("*/*.npz"):
            with contextlib.suppress(OSError):
                status = path.stat()
                entries.append((status.st_mtime, status.st_size, path))
        total, removed = sum(size for _, size, _ in entries), 0
        for _, size, path in sorted(entries):
            if total - removed <= largest:
                break
            with contextlib.suppress(OSError):
                path.unlink()
                removed += size
        return removed

    def _path(self, key: str) -> Path:
        assert self.folder is not None
        return self.folder / key[:2] / f"{key}.npz"


def user_cache() -> Cache:
    """The user's cache; HALFCELL_CACHE names another folder, or "off"."""
    named = os.environ.get("HALFCELL_CACHE", "")
    if named == "off":
        return Cache(None)
    if named:
        return Cache(Path(named))
    import platformdirs

    return Cache(Path(platformdirs.user_cache_dir("halfcell", appauthor=False)) / "results-1")


def key_of(*parts: Any) -> str:
    """The name of an entry: a hash of everything it depends on, in canonical form."""
    return hashlib.blake2b(encode(list(parts)), digest_size=20).hexdigest()


@functools.cache
def code_fingerprint() -> str:
    """A hash of the code that makes results, so that a changed method is never served old work."""
    root = Path(__file__).parent
    apart = {"app", "cli", "report", "demo"}
    digest = hashlib.sha256()
    for path in sorted(root.rglob("*.py")):
        name = path.relative_to(root).as_posix()
        if name.split("/")[0] not in apart:
            digest.update(name.encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()


def encode(value: Any) -> bytes:
    """Plain data, arrays and halfcell's own frozen results as bytes (a JSON tree and arrays).

    The same value always gives the same bytes.
    """
    arrays: list[np.ndarray] = []
    tree = json.dumps(
        _to_tree(value, arrays), ensure_ascii=False, sort_keys=True, separators=(",", ":")
    ).encode()
    out = io.BytesIO()
    out.write(len(tree).to_bytes(8, "little"))
    out.write(tree)
    for array in arrays:
        np.lib.format.write_array(out, array, allow_pickle=False)
    return out.getvalue()


def decode(data: bytes) -> Any:
    """What ``encode`` was given. Nothing in the bytes can run code."""
    source = io.BytesIO(data)
    length = int.from_bytes(source.read(8), "little")
    tree = json.loads(source.read(length))
    arrays = []
    while source.tell() < len(data):
        arrays.append(np.lib.format.read_array(source, allow_pickle=False))
    for array in arrays:
        array.setflags(write=False)
    return _from_tree(tree, arrays)


def _to_tree(value: Any, arrays: list[np.ndarray]) -> Any:
    if value is None or isinstance(value, (bool, int, str)):
        return value
    if isinstance(value, float):
        return {"f": value.hex()}
    if isinstance(value, np.ndarray):
        arrays.append(np.ascontiguousarray(value))
        return {"a": len(arrays) - 1}
    if isinstance(value, np.generic):
        return _to_tree(value.item(), arrays)
    if isinstance(value, tuple):
        return {"t": [_to_tree(v, arrays) for v in value]}
    if isinstance(value, list):
        return [_to_tree(v, arrays) for v in value]
    if isinstance(value, dict):
        return {"d": [[_to_tree(k, arrays), _to_tree(v, arrays)] for k, v in value.items()]}
    if is_dataclass(value) and not isinstance(value, type) and type(value).__module__.startswith("halfcell."):
        name = f"{type(value).__module__}:{type(value).__qualname__}"
        return {"o": name, "v": [_to_tree(getattr(value, f.name), arrays) for f in fields(value)]}
    raise TypeError(
        f"{type(value).__name__} cannot be kept; results are frozen dataclasses of numbers, texts and arrays."
    )


def _from_tree(tree: Any, arrays: list[np.ndarray]) -> Any:
    if isinstance(tree, list):
        return [_from_tree(v, arrays) for v in tree]
    if not isinstance(tree, dict):
        return tree
    if "f" in tree:
        return float.fromhex(tree["f"])
    if "a" in tree:
        return arrays[tree["a"]]
    if "t" in tree:
        return tuple(_from_tree(v, arrays) for v in tree["t"])
    if "d" in tree:
        return {_from_tree(k, arrays): _from_tree(v, arrays) for k, v in tree["d"]}
    return _rebuilt(tree["o"], [_from_tree(v, arrays) for v in tree["v"]])


def _rebuilt(name: str, values: list[Any]) -> Any:
    module, _, qualname = name.partition(":")
    if not module.startswith("halfcell."):
        raise ValueError(f"{name!r} is not one of halfcell's results.")
    kind = getattr(importlib.import_module(module), qualname)
    if not (isinstance(kind, type) and is_dataclass(kind)):
        raise ValueError(f"{name!r} is not one of halfcell's results.")
    return kind(**{f.name: v for f, v in zip(fields(kind), values, strict=True)})
