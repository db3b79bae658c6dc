"""What columns without headings or units hold, told from their numbers, and only where it is plain.

Limits: a potential in aqueous or organic electrolyte stays within ±5 V, and a record that spans
more than 20 in its unit can only be in mV; a current that never exceeds 1 mA in magnitude when
read as ampere is taken as ampere (common practice, no source). Anything between is not decided.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

_LARGEST_VOLT = 5.0
_SMALLEST_MILLIVOLT_SPAN = 20.0
_LARGEST_AMPERE = 1e-3


def finite(values: Array) -> Array:
    """The finite values."""
    return values[np.isfinite(values)]


def is_clock(values: Array) -> bool:
    """Whether values rise steadily from zero or more, as a time does."""
    found = finite(values)
    if len(found) < 3 or found[0] < 0:
        return False
    steps = np.diff(found)
    return bool(np.all(steps > 0) and np.median(np.abs(steps - np.median(steps))) <= 0.2 * np.median(steps))


def is_ramp(values: Array) -> bool:
    """Whether values go up and down in equal steps, as a swept potential does."""
    found = finite(values)
    if len(found) < 8:
        return False
    steps = np.abs(np.diff(found))
    moving = steps[steps > 0]
    if len(moving) < 0.25 * len(steps):
        return False
    usual = float(np.median(moving))
    return bool(np.mean(np.abs(moving - usual) <= 0.35 * usual) > 0.9)


def turns(values: Array) -> bool:
    """Whether values run both up and down by a good part of their span."""
    found = finite(values)
    span = float(np.ptp(found)) if len(found) else 0.0
    steps = np.diff(found)
    return span > 0 and bool(steps[steps > 0].sum() > 0.2 * span and -steps[steps < 0].sum() > 0.2 * span)


def guess(columns: dict[int, Array]) -> dict[str, int]:
    """Roles of columns without headings; a role that is not plain is left out."""
    left = dict(columns)
    found: dict[str, int] = {}
    clocks = [i for i, v in left.items() if is_clock(v)]
    ramps = [i for i, v in left.items() if is_ramp(v) and i not in clocks]
    if (
        len(clocks) == 1
        and (len(left) >= 3 or not ramps)
        and not (len(left) == 2 and _could_be_potential(left[clocks[0]]))
    ):
        found["time"] = clocks[0]
        del left[clocks[0]]
    if len(ramps) == 1 and (turns(left[ramps[0]]) or bool(np.any(left[ramps[0]] < 0)) or "time" in found):
        found["potential"] = ramps[0]
        del left[ramps[0]]
    if len(left) == 1 and found:
        found["current"] = next(iter(left))
    return found if "current" in found else {}


def _could_be_potential(values: Array) -> bool:
    """Whether a steady rise may as well be a linear sweep."""
    found = finite(values)
    return bool(found[0] > 0 and found[-1] <= _LARGEST_VOLT)


def potential_unit(values: Array) -> str:
    """V or mV, or empty where the numbers allow both."""
    found = finite(values)
    if not len(found):
        return ""
    if float(np.abs(found).max()) <= _LARGEST_VOLT:
        return "V"
    return "mV" if float(np.ptp(found)) > _SMALLEST_MILLIVOLT_SPAN else ""


def current_unit(values: Array) -> str:
    """A, or empty where the numbers allow another unit."""
    found = finite(values)
    return "A" if len(found) and 0 < float(np.abs(found).max()) <= _LARGEST_AMPERE else ""
