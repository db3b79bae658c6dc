"""Which cycle of a record to use, and how the response changes from cycle to cycle."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Measured, read_only, unknown
from halfcell.signals.branch import Branch, interpolated
from halfcell.units import percent

if TYPE_CHECKING:
    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StableCycle:
    """``cycle`` (from 1) is the one to use; ``changes`` (n - 1,) the relative change to the next.

    A change is the root-mean-square difference between successive cycles over the span of the
    later one. ``drift`` is the relative change of the current's span per cycle over the stable
    part. ``left_out`` are incomplete cycles.
    """

    cycle: int
    changes: FloatArray
    drift: Measured
    left_out: tuple[int, ...]
    note: str


def stable_cycle(cycles: Sequence[tuple[int, Branch | None]], *, tolerance: float = 0.02) -> StableCycle:
    """The last complete cycle of the longest unchanging run at the end of a record.

    Parameters
    ----------
    cycles : (number, branch) pairs
        The branch of one direction of each cycle, None where a cycle lacks it.
    tolerance : float
        A change up to this share of the current's span counts as none.

    Notes
    -----
    Cycles covering less than 90 % of the widest one's range are left out. From the end backwards, cycles
    belong to the stable run while the change between them is within the tolerance; its last is used.
    When not even the last two agree, the last complete cycle is used and the note says so
    (common practice, no source). Raises MethodError when no cycle has the branch.
    """
    known = [(n, b) for n, b in cycles if b is not None]
    if not known:
        raise MethodError("No cycle has a sweep in this direction.")
    widest = max(float(np.ptp(b.potential)) for _, b in known)
    whole = [(n, b) for n, b in known if np.ptp(b.potential) >= 0.9 * widest]
    left = tuple(n for n, _ in cycles if n not in {w for w, _ in whole})
    if len(whole) == 1:
        why = "one complete cycle"
        return StableCycle(
            cycle=whole[0][0], changes=read_only([]), drift=unknown(why), left_out=left, note=why
        )
    changes = [_change(a, b) for (_, a), (_, b) in pairwise(whole)]
    run = 0
    while run < len(changes) and changes[len(changes) - 1 - run] <= tolerance:
        run += 1
    stable = whole[len(whole) - 1 - run :] if run else whole[-2:]
    spans = np.array([_span(b) for _, b in stable])
    relative = np.diff(spans) / spans[:-1]
    u = float(np.std(relative, ddof=1)) / math.sqrt(relative.size) if relative.size > 1 else math.nan
    drift = Measured(
        value=float(relative.mean()),
        u=u,
        df=max(relative.size - 1, 1),
        why="" if relative.size > 1 else "from two cycles",
    )
    note = f"cycle {whole[-1][0]}: the last of {len(stable)} that agree within {percent(tolerance)}"
    if not run:
        note = f"cycle {whole[-1][0]}: the last; it still differs from the one before by {percent(changes[-1], 1)}"
    return StableCycle(cycle=whole[-1][0], changes=read_only(changes), drift=drift, left_out=left, note=note)


def _span(branch: Branch) -> float:
    low, high = np.quantile(branch.current, [0.02, 0.98])
    return float(high - low) or 1e-300


def _change(a: Branch, b: Branch) -> float:
    other = np.asarray(interpolated(a, b.potential))
    known = np.isfinite(other)
    if known.sum() < 5:
        return math.inf
    return float(np.sqrt(np.mean((b.current[known] - other[known]) ** 2))) / _span(b)
