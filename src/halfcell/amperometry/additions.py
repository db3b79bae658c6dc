"""Successive additions to a stirred cell: steps, plateaus, and what went wrong."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.amperometry.changes import find_changes
from halfcell.amperometry.rise import fit_rise
from halfcell.errors import MethodError
from halfcell.results import Measured, read_only
from halfcell.statistics.autocorrelation import SteadyMean, steady_mean

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray

_AWAY = 15.0
"""Seconds within which a step in the current belongs to an entry of the log (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plateau:
    """The steady stretch before the next addition: its window (s) and its current (A)."""

    start: float
    end: float
    current: Measured
    drift: Measured
    sd: float
    rho: float
    n_eff: float
    rejected: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AdditionTrace:
    """A record of successive additions, read.

    ``times`` (k,) s of the additions used, ``logged`` (k,) whether each stands in the log; ``plateaus``
    (k + 1) before the first and after each; ``t90`` (k) of each step; ``unseen`` are the indices of
    ``times`` whose step is not in the current; ``unlogged`` (m,) s are steps in the current that no
    log entry explains; ``shown_time``/``shown_current`` are thinned for drawing.
    """

    times: FloatArray
    logged: tuple[bool, ...]
    plateaus: tuple[Plateau, ...]
    t90: tuple[Measured, ...]
    unseen: tuple[int, ...]
    unlogged: FloatArray
    shown_time: FloatArray
    shown_current: FloatArray
    sample_interval: float


def read_additions(
    time: ArrayLike,
    current: ArrayLike,
    *,
    log: ArrayLike | None = None,
    removed: Sequence[float] = (),
    added: Sequence[float] = (),
    moved: Sequence[tuple[float, float]] = (),
    settle: float = 0.5,
    sample_from: float | None = None,
    sample_to: float | None = None,
) -> AdditionTrace:
    """The steps and plateaus of ``current`` (n,) A at ``time`` (n,) s.

    ``log`` (k,) s are the times at which additions were made; without it they are searched for. ``removed``,
    ``added`` and ``moved`` are a person's corrections (s). A plateau is the last part (1 − ``settle``) of the
    time between additions, or from ``sample_from`` to ``sample_to`` s after the addition.

    Raises MethodError for a record shorter than 40 samples, time that does not increase, or no step.

    Source: common practice, no source; the parts name theirs.
    """
    t, i = np.asarray(time, dtype=np.float64), np.asarray(current, dtype=np.float64)
    if t.size < 40 or t.shape != i.shape:
        raise MethodError(f"A record of additions needs at least 40 samples; there are {t.size}.")
    if np.any(np.diff(t) <= 0):
        k = int(np.argmax(np.diff(t) <= 0))
        raise MethodError(f"Time does not increase at sample {k + 2} ({t[k]:g} s, then {t[k + 1]:g} s).")
    seen = find_changes(t, i, least_spacing=_spacing(t, log))
    times, logged = (
        (list(seen), [False] * len(seen))
        if log is None
        else (sorted(float(v) for v in np.asarray(log)), [True] * len(np.asarray(log)))
    )
    times, logged = _corrected(times, logged, removed, added, moved)
    inside = [k for k, at in enumerate(times) if t[0] < at < t[-1] - 2.0]
    missing = len(times) - len(inside)
    if missing and log is not None:
        outside = [times[k] for k in range(len(times)) if k not in inside]
        raise MethodError(
            f"The log has additions at {', '.join(f'{v:g}' for v in outside)} s, outside the record, which runs from {t[0]:g} to {t[-1]:g} s."
        )
    times, logged = [times[k] for k in inside], [logged[k] for k in inside]
    if not times:
        raise MethodError("No addition was found in the current and no log says when one was made.")
    plateaus = _plateaus(t, i, times, settle, sample_from, sample_to)
    unseen = tuple(k for k in range(len(times)) if not _is_seen(times, plateaus, seen, k))
    spare = [float(s) for s in seen if min(abs(s - at) for at in times) > _AWAY]
    rises = tuple(_rise(t, i, times, plateaus, k) for k in range(len(times)))
    thin = max(1, t.size // 1500)
    return AdditionTrace(
        times=read_only(times),
        logged=tuple(logged),
        plateaus=plateaus,
        t90=rises,
        unseen=unseen,
        unlogged=read_only([s for s in spare if not any(abs(s - r) <= _AWAY for r in removed)]),
        shown_time=read_only(t[::thin]),
        shown_current=read_only(i[::thin]),
        sample_interval=float(np.median(np.diff(t))),
    )


def _spacing(t: FloatArray, log: ArrayLike | None) -> float:
    if log is None or np.asarray(log).size < 2:
        return max(10.0, float(t[-1] - t[0]) / 60)
    return max(5.0, 0.5 * float(np.min(np.diff(np.sort(np.asarray(log, dtype=np.float64))))))


def _corrected(
    times: list[float],
    logged: list[bool],
    removed: Sequence[float],
    added: Sequence[float],
    moved: Sequence[tuple[float, float]],
) -> tuple[list[float], list[bool]]:
    rows = [[at, known] for at, known in zip(times, logged, strict=True)]
    for old, new in moved:
        row = min(rows, key=lambda r: abs(r[0] - old), default=None)
        if row is not None and abs(row[0] - old) <= _AWAY:
            row[0] = new
    for gone in removed:
        row = min(rows, key=lambda r: abs(r[0] - gone), default=None)
        if row is not None and abs(row[0] - gone) <= _AWAY:
            rows.remove(row)
    # A step added where one is known already only confirms it.
    rows += [[at, False] for at in added if all(abs(r[0] - at) > 3.0 for r in rows)]
    rows.sort(key=lambda r: r[0])
    return [float(r[0]) for r in rows], [bool(r[1]) for r in rows]


def _plateaus(
    t: FloatArray, i: FloatArray, times: list[float], settle: float, first: float | None, last: float | None
) -> tuple[Plateau, ...]:
    edges = [float(t[0]), *times, float(t[-1])]
    out = []
    for k, (begin, end) in enumerate(itertools.pairwise(edges)):
        span = end - begin
        guard = min(1.0, 0.03 * span) if k < len(times) else 0.0
        start = begin + (first if first is not None and k > 0 else settle * span)
        stop = begin + last if last is not None and k > 0 else end - guard
        chosen = (t >= start) & (t <= min(stop, end - guard))
        if int(chosen.sum()) < 8:
            raise MethodError(
                f"Between the additions at {begin:g} and {end:g} s there are {int(chosen.sum())} samples in the steady part; at least 8 are needed."
            )
        out.append(_plateau(start, min(stop, end - guard), steady_mean(t[chosen], i[chosen])))
    return tuple(out)


def _plateau(start: float, end: float, mean: SteadyMean) -> Plateau:
    return Plateau(
        start=start,
        end=end,
        current=mean.mean,
        drift=mean.slope,
        sd=mean.sd,
        rho=mean.rho,
        n_eff=mean.n_eff,
        rejected=mean.rejected,
    )


def _is_seen(times: list[float], plateaus: tuple[Plateau, ...], seen: FloatArray, k: int) -> bool:
    if any(abs(float(s) - times[k]) <= _AWAY for s in seen):
        return True
    a, b = plateaus[k].current, plateaus[k + 1].current
    return abs(b.value - a.value) > 4 * float(np.hypot(a.u, b.u))


def _rise(
    t: FloatArray, i: FloatArray, times: list[float], plateaus: tuple[Plateau, ...], k: int
) -> Measured:
    end = times[k + 1] if k + 1 < len(times) else float(t[-1])
    chosen = (t >= times[k] - 3) & (t < end)
    noise = max(plateaus[k].sd, plateaus[k + 1].sd)
    return fit_rise(
        t[chosen],
        i[chosen],
        at=times[k],
        before=plateaus[k].current.value,
        after=plateaus[k + 1].current.value,
        noise=noise,
    ).t90
