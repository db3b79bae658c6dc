"""Segments of a potential programme: turning points, cycles, quiet time, staircase, scan rate."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Measured, unknown

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Segment:
    """One sweep in one direction: samples ``start`` to ``stop`` (exclusive), +1 upwards or -1.

    ``first`` and ``last`` are its end potentials in V; ``scan_rate`` is the size of the slope of
    potential against time in V/s (unknown without time).
    """

    start: int
    stop: int
    direction: int
    first: float
    last: float
    cycle: int
    scan_rate: Measured

    @property
    def span(self) -> float:
        """Range covered, V."""
        return abs(self.last - self.first)

    @property
    def slice(self) -> slice:
        """The samples, to index the arrays with."""
        return slice(self.start, self.stop)


@dataclass(frozen=True, slots=True, kw_only=True)
class Segments:
    """The sweeps of a record. ``step`` is the usual size of a potential step in V.

    ``quiet`` is the number of samples before the first sweep; ``stair`` the number of samples
    held at each potential (1 for a ramp); ``missing`` the number of samples that seem to be
    missing (gaps in time).
    """

    segments: tuple[Segment, ...]
    cycles: int
    quiet: int
    step: float
    stair: int
    missing: int
    scan_rate: Measured

    def along(self, direction: int, cycle: int | None = None) -> tuple[Segment, ...]:
        """The sweeps of one direction, of one cycle if it is named."""
        return tuple(s for s in self.segments if s.direction == direction and cycle in (None, s.cycle))

    def branch(self, direction: int, cycle: int) -> Segment | None:
        """The longest sweep of a direction in a cycle, or None."""
        return max(self.along(direction, cycle), key=lambda s: s.span, default=None)


def find_segments(
    potential: ArrayLike,
    time: ArrayLike | None = None,
    cycle: ArrayLike | None = None,
    *,
    smallest: float = 0.02,
) -> Segments:
    """The sweeps of a potential programme.

    Parameters
    ----------
    potential : (n,) array, V
    time : (n,) array, s, optional
        Needed for the scan rate.
    cycle : (n,) array, optional
        The file's own cycle numbers; else a cycle begins where the first direction begins again.
    smallest : float
        Reversals smaller than this share of the whole range are noise, not turning points.

    Raises
    ------
    MethodError
        Fewer than 5 samples, values that are not finite, or a potential that does not move.

    Notes
    -----
    Turning points are found on the signs of the changes, reversals below ``smallest`` of the
    range being merged. The scan rate is the slope of potential against time within each sweep,
    its uncertainty the spread between sweeps or, for one sweep, the standard error of the slope
    (common practice, no source).
    """
    e = np.asarray(potential, float)
    t = None if time is None else np.asarray(time, float)
    if e.ndim != 1 or e.size < 5:
        raise MethodError(f"A potential programme needs at least 5 samples; this one has {e.size}.")
    if not np.all(np.isfinite(e)):
        raise MethodError(f"The potential holds {int(np.sum(~np.isfinite(e)))} values that are not numbers.")
    reach = float(np.ptp(e))
    if reach <= 0:
        raise MethodError(f"The potential does not move: every sample is at {e[0]:.4g} V.")
    moves = np.flatnonzero(np.diff(e) != 0)
    stair = int(np.median(np.diff(moves))) if moves.size > 2 else 1
    step = float(np.median(np.abs(np.diff(e)[moves])))
    quiet = _quiet(e, stair, smallest * reach)
    turns = _turning_points(e[quiet:], smallest * reach) + quiet
    numbers = None if cycle is None else np.asarray(cycle, float)
    if numbers is not None:
        change = np.flatnonzero(np.diff(numbers[quiet:]) != 0) + quiet + 1
        turns = np.array(
            [
                x
                for x in turns
                if change.size == 0 or np.min(np.abs(change - x)) > 2 or x == turns[0] or x == turns[-1]
            ]
            + list(change)
        )
        turns = np.unique(turns)
    found = _build(e, t, turns, numbers, smallest * reach)
    if not found:
        raise MethodError(f"No sweep was found in a potential between {e.min():.4g} and {e.max():.4g} V.")
    rates = [s.scan_rate for s in found if s.span > 0.3 * max(x.span for x in found)]
    return Segments(
        segments=tuple(found),
        cycles=max(s.cycle for s in found),
        quiet=quiet,
        step=step,
        stair=max(stair, 1),
        missing=_missing(t),
        scan_rate=_overall(rates),
    )


def _quiet(e: NDArray[np.float64], stair: int, least: float) -> int:
    """Samples before the first ramp begins: where the line through its first part meets the level before it."""
    away = np.abs(e - float(np.median(e[:5])))
    far = int(np.argmax(away > least))
    further = far + int(np.argmax(away[far:] > 3 * least))
    if far < max(6, 4 * stair) or further - far < 3:
        return 0
    k = np.arange(far, further)
    slope, offset = np.polyfit(k, e[far:further], 1)
    held = int((float(np.median(e[:5])) - offset) / slope) if slope else 0
    if held > 20:
        held = int((float(np.median(e[: held // 2])) - offset) / slope)
    return held if held > max(5, 4 * stair) else 0


def _turning_points(e: NDArray[np.float64], least: float) -> NDArray[np.int64]:
    """Indices of the first sample, each extreme that is followed by a reversal > least, the last sample."""
    change = np.sign(np.diff(e))
    moving = np.flatnonzero(change)
    flips = moving[1:][np.diff(change[moving]) != 0]
    candidates = np.concatenate(([0], flips, [e.size - 1]))
    turns, extreme, towards = [0], 0, 0
    for i in candidates[1:].tolist():
        away = e[i] - e[extreme]
        if towards == 0:
            if abs(e[i] - e[0]) > least:
                towards, extreme = (1 if e[i] > e[0] else -1), i
        elif away * towards > 0:
            extreme = i
        elif abs(away) > least:
            turns.append(extreme)
            extreme, towards = i, -towards
    turns.append(e.size - 1)
    return np.unique(np.array(turns, dtype=np.int64))


def _build(
    e: NDArray[np.float64],
    t: NDArray[np.float64] | None,
    turns: NDArray[np.int64],
    numbers: NDArray[np.float64] | None,
    least: float,
) -> list[Segment]:
    found: list[Segment] = []
    own = {v: k + 1 for k, v in enumerate(dict.fromkeys(numbers.tolist()))} if numbers is not None else {}
    count, first = 0, 0
    for a, b in zip(turns[:-1].tolist(), turns[1:].tolist(), strict=True):
        stop = b + 1 if b == turns[-1] else b
        if stop - a < 2 or abs(e[stop - 1] - e[a]) < 0.5 * least:
            continue
        direction = 1 if e[stop - 1] > e[a] else -1
        first = first or direction
        count += direction == first
        number = own[numbers[(a + stop) // 2]] if numbers is not None else count
        found.append(
            Segment(
                start=a,
                stop=stop,
                direction=direction,
                first=float(e[a]),
                last=float(e[stop - 1]),
                cycle=int(number),
                scan_rate=_rate(e[a:stop], None if t is None else t[a:stop]),
            )
        )
    return found


def _rate(e: NDArray[np.float64], t: NDArray[np.float64] | None) -> Measured:
    if t is None:
        return unknown("the file holds no time, so the scan rate cannot be measured")
    if e.size < 5 or not np.all(np.isfinite(t)) or np.ptp(t) <= 0:
        return unknown("the time column does not advance")
    x = t - t.mean()
    sxx = float(x @ x)
    slope = float(x @ e) / sxx
    rest = e - e.mean() - slope * x
    # Residuals of a staircase are a saw-tooth; their spread over the number of samples is kept as it is.
    fit = math.sqrt(float(rest @ rest) / (e.size - 2) / sxx)
    # Potentials and times are written down in steps: the ends are known to a step's rectangular spread.
    steps = math.sqrt(2 / 12) * abs(slope) / (e.size - 1)
    return Measured(value=abs(slope), u=math.hypot(fit, steps), df=e.size - 2)


def _overall(rates: list[Measured]) -> Measured:
    known = [r for r in rates if math.isfinite(r.value)]
    if not known:
        return rates[0] if rates else unknown("no sweep was found")
    if len(known) == 1:
        return known[0]
    values = np.array([r.value for r in known])
    inside = max(r.u for r in known)
    spread = float(np.std(values, ddof=1)) / math.sqrt(len(known))
    return Measured(
        value=float(np.median(values)), u=max(spread, inside / math.sqrt(len(known))), df=len(known) - 1
    )


def _missing(t: NDArray[np.float64] | None) -> int:
    if t is None or t.size < 5:
        return 0
    gaps = np.diff(t)
    usual = float(np.median(gaps))
    if not usual > 0:
        return 0
    long = gaps[gaps > 1.5 * usual]
    return int(np.sum(np.round(long / usual) - 1)) if long.size < 0.2 * gaps.size else 0
