"""What the numbers of a recording tell: technique, scan rate, cycles."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from halfcell.recording import Recording
    from halfcell.results import FloatArray

_STILL = 0.02
"""A potential that stays within this many volts is held."""
_TURN = 0.05
"""A turning point counts when the potential comes back by this share of its range."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """The kind of record, with what it was told from."""

    technique: str
    told_by: str
    scan_rate: float = np.nan
    """V/s, nan where the file holds no time or no sweep."""
    cycles: int = 0
    held_at: float = np.nan
    """V, the potential of a record at one potential."""


def shape_of(recording: Recording) -> Shape:
    """Technique, scan rate and cycles of a recording from its columns and their shape."""
    potential = recording.potential
    if potential is None or np.count_nonzero(np.isfinite(potential)) < 4:
        return _without_potential(recording)
    potential = potential[np.isfinite(potential)]
    if recording.forward is not None and recording.backward is not None:
        return Shape(technique="square wave", told_by="the forward and backward currents")
    span = float(np.ptp(potential))
    if span <= _STILL:
        found = _without_potential(recording)
        return Shape(technique=found.technique, told_by=found.told_by, held_at=float(np.median(potential)))
    if _steps(potential, span):
        last = float(np.median(potential[potential.size // 2 :]))
        return Shape(technique="potential step", told_by="the steps of the potential", held_at=last)
    turns = turning_points(potential, _TURN * span)
    rate = scan_rate(recording)
    if not turns:
        return Shape(technique="linear sweep", told_by="the shape of the potential", scan_rate=rate)
    travel = float(np.sum(np.abs(np.diff(potential[[0, *turns, potential.size - 1]]))))
    cycles = max(1, round(travel / (2 * span)))
    if recording.cycle is not None:
        cycles = int(np.unique(recording.cycle[np.isfinite(recording.cycle)]).size)
    return Shape(
        technique="cyclic voltammogram", told_by="the shape of the potential", scan_rate=rate, cycles=cycles
    )


def turning_points(values: FloatArray, least: float) -> list[int]:
    """Places where ``values`` (n,) turn back by more than ``least`` from the extreme reached."""
    turns: list[int] = []
    extreme, direction = 0, 0
    for i in range(1, values.size):
        step = values[i] - values[extreme]
        if direction == 0:
            if abs(step) > least:
                direction, extreme = (1 if step > 0 else -1), i
        elif step * direction > 0:
            extreme = i
        elif -step * direction > least:
            turns.append(extreme)
            direction, extreme = -direction, i
    return turns


def scan_rate(recording: Recording) -> float:
    """Median |dE/dt| in V/s where the potential moves; nan without time."""
    if recording.time is None or recording.potential is None:
        return float("nan")
    dt, de = np.diff(recording.time), np.abs(np.diff(recording.potential))
    good = np.isfinite(dt) & np.isfinite(de) & (dt > 0) & (de > 0)
    if np.count_nonzero(good) < 3:
        return float("nan")
    return float(np.median(de[good] / dt[good]))


def _steps(potential: FloatArray, span: float) -> bool:
    """Whether the potential jumps between few levels instead of sweeping."""
    moves = np.abs(np.diff(potential))
    return bool(np.sum(moves[moves > 0.1 * span]) > 0.8 * np.sum(moves)) and potential.size >= 8


def _without_potential(recording: Recording) -> Shape:
    current = recording.current[np.isfinite(recording.current)]
    if current.size < 20:
        return Shape(technique="", told_by="too few samples")
    blocks = np.array([np.median(block) for block in np.array_split(current, 20)])
    away = np.abs(blocks - blocks[1])
    size = np.abs(blocks)
    scatter = float(np.median(np.abs(np.diff(current)))) / np.sqrt(current.size / 20)
    if size[0] > 1.3 * np.median(size[-5:]) and size[0] >= size.max() * 0.99:
        return Shape(technique="potential step", told_by="a current that decays from its start")
    if away[-1] > 10 * scatter and np.count_nonzero(np.diff(away[1:]) > -scatter) >= 15:
        return Shape(technique="additions", told_by="a current that grows in steps")
    return Shape(technique="potential step", told_by="a current against time alone")
