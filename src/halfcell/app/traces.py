"""Traces for the screen: at most a few thousand points, extremes kept, in a binary form."""

from __future__ import annotations

import hashlib
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.app.watched import state_of_file
from halfcell.errors import StudyError

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from halfcell.recording import Recording
    from halfcell.results import FloatArray
    from halfcell.study.model import Run
    from halfcell.study.study import Study

    IntArray = NDArray[np.int64]


def recording_of(study: Study, run: Run) -> Recording:
    """The recording of a run, as the analysis reads it (oxidation positive, amperes).

    Raises StudyError for a micrograph or a file outside the folder, OSError for one that is gone.
    """
    from halfcell.pipeline.loading import options

    if run.technique == "micrograph":
        raise StudyError(f"{run.file} is a micrograph; its trace cannot be shown.")
    status = own_file(study, run).stat()
    return _read(
        str(study.folder),
        run.file,
        repr(options(study, run)),
        status.st_mtime_ns,
        status.st_size,
        _Held(options(study, run)),
    )


def mark_of(study: Study, run: Run) -> str:
    """A short text that is another when the run's picture may be: other folder, file, bytes or way of reading."""
    from halfcell.pipeline.loading import options

    path = study.folder / run.file
    told = f"{path}\n{state_of_file(path)}\n{options(study, run)!r}"
    return hashlib.sha256(told.encode(errors="replace")).hexdigest()[:12]


def own_file(study: Study, run: Run) -> Path:
    """Path of a run's file. Raises StudyError where it leads out of the folder, also by a link made meanwhile."""
    from halfcell.study.check_files import inside

    wrong = inside(run.file, study.folder)
    if wrong is not None:
        raise StudyError(f"runs.csv: {wrong}")
    return study.folder / run.file


class _Held:
    """Options that do not take part in the key: their text does."""

    def __init__(self, options: Any) -> None:
        self.options = options

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Held)

    def __hash__(self) -> int:
        return 0


@lru_cache(maxsize=24)
def _read(folder: str, file: str, _options: str, _changed: int, _size: int, held: _Held) -> Recording:
    from halfcell.pipeline.loading import load

    recording: Recording = load(Path(folder), file, **held.options)
    return recording


def abscissa(recording: Recording, technique: str) -> tuple[FloatArray, str, str]:
    """What is drawn across for a technique: the values, the label, the unit."""
    over_time = technique in {"potential step", "additions", "deposition"} or recording.potential is None
    if over_time and recording.time is not None:
        return recording.time, "time", "s"
    if recording.potential is not None:
        return recording.potential, "potential", "V"
    return np.arange(len(recording.current), dtype=np.float64), "sample", ""


def thinned(
    x: FloatArray, y: FloatArray, points: int = 4000, start: int = 0, end: int | None = None
) -> IntArray:
    """Indices (k,) int of samples that keep every extreme of both columns, k about ``points``.

    Buckets run along the samples, because a sweep goes out and back. nan samples are kept out of
    the search for extremes but the gaps' ends stay.
    """
    from tsdownsample import MinMaxDownsampler

    thinner: Any = MinMaxDownsampler
    end = len(y) if end is None else end
    n = end - start
    if n <= points:
        return np.arange(start, end)
    chosen = [np.array([start, end - 1])]
    for column in (x, y):
        part = np.ascontiguousarray(column[start:end])
        if np.isnan(part).any():
            part = np.where(np.isnan(part), np.nanmedian(part), part)
        chosen.append(start + thinner().downsample(part, n_out=max(4, points // 2 // 2 * 2)).astype(np.int64))
    return np.unique(np.concatenate(chosen))


def packed(x: FloatArray, y: FloatArray, index: Any) -> bytes:
    """float64 abscissa, float32 ordinate, uint32 sample number, one after the other."""
    return (
        np.ascontiguousarray(x[index], dtype="<f8").tobytes()
        + np.ascontiguousarray(y[index], dtype="<f4").tobytes()
        + np.ascontiguousarray(index, dtype="<u4").tobytes()
    )


def thumbnail(x: FloatArray, y: FloatArray, width: int = 96, height: int = 40) -> str:
    """A small SVG of a trace, without axes."""
    index = thinned(x, y, max(160, 3 * width))
    xs, ys = x[index], y[index]
    good = np.isfinite(xs) & np.isfinite(ys)
    xs, ys = xs[good], ys[good]
    if len(xs) < 2:
        return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}"></svg>'
    span_x, span_y = float(np.ptp(xs)) or 1.0, float(np.ptp(ys)) or 1.0
    px = 3 + (xs - xs.min()) / span_x * (width - 6)
    py = height - 3 - (ys - ys.min()) / span_y * (height - 6)
    path = " ".join(f"{a:.1f},{b:.1f}" for a, b in zip(px, py, strict=True))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}"><polyline fill="none" '
        f'stroke="#0f6b66" stroke-width="1.2" stroke-linejoin="round" points="{path}"/></svg>'
    )
