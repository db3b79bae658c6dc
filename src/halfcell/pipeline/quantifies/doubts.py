"""Additions that do not fit: not made, made in part, or not in the log."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from halfcell.amperometry.dilution import dilute
from halfcell.errors import Problem
from halfcell.units import percent

if TYPE_CHECKING:
    from halfcell.amperometry.additions import AdditionTrace
    from halfcell.pipeline.quantifies.logs import Log
    from halfcell.results import FloatArray
    from halfcell.study.model import Run


def not_made(
    trace: AdditionTrace, log: Log, start_volume: float, sure: Sequence[float] = ()
) -> tuple[int, ...]:
    """Logged additions without a step where the others say there should be one: taken as not made, and said.

    The step expected is the usual one per level times the rise of the level; an addition is taken as
    not made when the step is under three tenths of that, which is more than eight times the usual scatter.
    Additions near the times ``sure`` (s), which a person confirmed, are never doubted.
    """
    k = trace.times.size
    if not trace.unseen or len(log.volumes) != k:
        return ()
    rises, levels = _rises(trace), _levels(log, start_volume)
    seen = np.array([j not in trace.unseen for j in range(k)])
    if int(seen.sum()) < max(3, 2 * len(trace.unseen)):
        return ()
    usual = float(np.median(rises[seen] / levels[seen]))
    scatter = 1.4826 * float(np.median(np.abs(rises[seen] - usual * levels[seen])))
    expected = usual * levels
    lost = (
        (~seen)
        & (np.abs(rises) < 0.3 * np.abs(expected))
        & (np.abs(expected) > 8 * np.hypot(scatter, _errors(trace)))
    )
    return tuple(
        int(j) for j in np.flatnonzero(lost) if all(abs(float(trace.times[j]) - at) > 3.0 for at in sure)
    )


def odd_steps(
    trace: AdditionTrace, log: Log, start_volume: float, skipped: Sequence[int]
) -> tuple[tuple[int, float], ...]:
    """Additions whose step is far from what those around them say: (index, share of the expected step).

    The expected step per level is the median of up to four neighbours, so that a response that levels off is
    not doubted; far is more than three tenths of it and more than eight times the scatter and errors.
    """
    k = trace.times.size
    if len(log.volumes) != k:
        return ()
    rises, levels, errors = _rises(trace), _levels(log, start_volume), _errors(trace)
    usable = [j for j in range(k) if j not in skipped]
    if len(usable) < 5:
        return ()
    per_level = rises / levels
    expected, out = {}, []
    for j in usable:
        near = sorted((m for m in usable if m != j), key=lambda m: (abs(m - j), m))[:4]
        expected[j] = float(np.median(per_level[near])) * float(levels[j])
    scatter = 1.4826 * float(np.median([abs(float(rises[j]) - expected[j]) for j in usable]))
    for j in usable:
        away = abs(float(rises[j]) - expected[j])
        if away > 0.3 * abs(expected[j]) and away > 8 * float(np.hypot(scatter, errors[j])):
            out.append((j, float(rises[j]) / expected[j]))
    return tuple(out)


def said(
    run: Run, trace: AdditionTrace, skipped: Sequence[int], odd: Sequence[tuple[int, float]]
) -> list[Problem]:
    """Everything doubtful about a record's additions, as warnings."""
    out = []
    for k in skipped:
        what = f"the log has an addition at {trace.times[k]:g} s, but the current does not step there: it is taken as not made."
        example = (
            'remove it from the log if it was not made; add the adjustment "add step" at this time if it was'
        )
        out.append(
            Problem(file=run.file, place=f"addition {k + 1}", what=what, example=example, severity="warning")
        )
    quiet = [k for k in trace.unseen if k not in skipped]
    if quiet:
        listed = ", ".join(f"{trace.times[k]:g}" for k in quiet)
        what = f"no step is seen in the current at the addition{'s' if len(quiet) > 1 else ''} at {listed} s."
        out.append(Problem(file=run.file, what=what, severity="warning"))
    for k, share in odd:
        what = f"the step at {trace.times[k]:g} s is {percent(share)} of what the additions around it say: perhaps not as much was added as the log says."
        example = "correct the log, or reject the points after it with a reason"
        out.append(
            Problem(file=run.file, place=f"addition {k + 1}", what=what, example=example, severity="warning")
        )
    for at in trace.unlogged:
        what = (
            f"the current steps at {at:g} s, where the log has no addition: the levels after it may be wrong."
        )
        example = 'add the line to the log, or the adjustment "remove step" if it was a disturbance'
        out.append(Problem(file=run.file, place=f"{at:g} s", what=what, example=example, severity="warning"))
    return out


def _rises(trace: AdditionTrace) -> FloatArray:
    return np.diff([p.current.value for p in trace.plateaus])


def _errors(trace: AdditionTrace) -> FloatArray:
    return np.array([np.hypot(a.current.u, b.current.u) for a, b in itertools.pairwise(trace.plateaus)])


def _levels(log: Log, start_volume: float) -> FloatArray:
    return np.diff(dilute(start_volume, log.volumes, log.concentrations).concentration)
