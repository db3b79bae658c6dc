"""The worker processes: how they begin, and how they end."""

from __future__ import annotations

import contextlib
import importlib
import os
import sys
import threading
from concurrent.futures import ProcessPoolExecutor
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator
    from multiprocessing.context import BaseContext

_NEEDED = (
    "halfcell.pipeline.loading",
    "halfcell.pipeline.made",
    "halfcell.pipeline.responds",
    "halfcell.pipeline.quantifies",
    "halfcell.readers",
    "PIL.Image",
    "PIL.PngImagePlugin",
    "PIL.TiffImagePlugin",
    "scipy.ndimage",
    "scipy.spatial",
    "scipy.optimize",
    "scipy.stats",
    "scipy.signal",
    "pandas",
)
"""What nearly every piece of work needs. It is loaded once, and each worker begins as a copy of that."""
_NEEDED_HERE = ("halfcell.pipeline.decides", "scipy.optimize", "scipy.stats")
"""What this process needs itself later on; it loads them while it would wait for the other."""

_THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")
_STARTING = threading.Lock()


def pool(cores: int) -> ProcessPoolExecutor:
    """Workers for as many cores; each begins when work is first given in ``starting()``."""
    return ProcessPoolExecutor(cores, mp_context=_context(), initializer=_begin)


def begin() -> None:
    """Have the process that workers are copies of load what they need, while this one goes on."""
    if _copied():
        from multiprocessing.forkserver import ensure_running

        _context()
        with starting():
            ensure_running()


def prepare() -> None:
    """``begin``, and load meanwhile what this process needs as well."""
    begin()
    if _copied():
        for name in _NEEDED_HERE:
            importlib.import_module(name)


def _copied() -> bool:
    """Whether workers are copies of a ready process: where the system does that well."""
    return sys.platform == "linux" and not sys.flags.ignore_environment


def _context() -> BaseContext:
    import multiprocessing

    context = multiprocessing.get_context("forkserver" if _copied() else "spawn")
    if _copied():
        context.set_forkserver_preload(list(_NEEDED))
    return context


@contextlib.contextmanager
def starting() -> Iterator[None]:
    """Workers that begin in here use one thread each, find this halfcell and leave the person's script alone.

    Without the last a script of three lines, with no guard for its main module, would start itself
    anew in each worker.
    """
    main = sys.modules["__main__"]
    paths = os.pathsep.join(path for path in sys.path if path)
    changed = dict.fromkeys(_THREADS, "1") | {"PYTHONPATH": paths, "PYTHONSAFEPATH": "1"}
    with _STARTING:
        kept = {name: getattr(main, name) for name in ("__file__", "__spec__") if hasattr(main, name)}
        before = {name: os.environ.get(name) for name in changed}
        try:
            if "__file__" in kept:
                del main.__file__
            main.__spec__ = None
            os.environ.update(changed)
            yield
        finally:
            for name, value in kept.items():
                setattr(main, name, value)
            for name, said in before.items():
                if said is None:
                    os.environ.pop(name, None)
                else:
                    os.environ[name] = said


def _begin() -> None:
    """A worker ends with the process that made it, also when that one is killed."""
    threading.Thread(target=_watch, daemon=True).start()


def _watch() -> None:
    import multiprocessing

    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
