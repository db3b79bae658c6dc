"""Memory of a server that runs for days: what is freed goes back to the machine."""

from __future__ import annotations

import ctypes
import sys
from functools import cache
from typing import Any

_MMAP_THRESHOLD, _ARENA_MAX = -3, -8
"""Names of two settings of the GNU C library's allocator (malloc.h)."""
_LARGE = 256 * 1024
"""From this many bytes on an array gets its own pages, which are given back when it is freed."""


@cache
def _library() -> Any:
    """The C library where its allocator can be told what to do (GNU, on Linux); else None."""
    if not sys.platform.startswith("linux"):
        return None
    library = ctypes.CDLL(None)
    return library if hasattr(library, "mallopt") and hasattr(library, "malloc_trim") else None


def settle() -> bool:
    """Keep few heaps and give large arrays pages of their own; answers whether that could be said.

    Without it the GNU allocator keeps a heap for each of a server's many threads and puts ever
    larger arrays there, where a small thing that lives on holds 64 MB that are free.
    """
    library = _library()
    return library is not None and all(
        (library.mallopt(_MMAP_THRESHOLD, _LARGE), library.mallopt(_ARENA_MAX, 2))
    )


def give_back() -> None:
    """Return what is free to the machine."""
    library = _library()
    if library is not None:
        library.malloc_trim(0)
