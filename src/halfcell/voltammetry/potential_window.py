"""The potential window of a blank at a stated current density."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Measured, unknown
from halfcell.signals.branch import Branch


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """``low`` and ``high`` in V where the current density passes the limit, and the ``width`` between.

    An end that the scan does not reach is unknown with its reason, and so is the width; ``at_least``
    is the range that was scanned within the limit (V).
    """

    low: Measured
    high: Measured
    width: Measured
    at_least: float


def potential_window(up: Branch, down: Branch, *, area: float, limit: float, charging: float = 0.0) -> Window:
    """Where a blank's current density reaches ``limit`` (A/m²) on either side.

    Parameters
    ----------
    up, down : Branch
        Rising and falling branch of the blank.
    area : float
        m².
    charging : float
        Charging current (A) taken off both branches before (C·v).

    Raises MethodError for an area or a limit that is not above zero. The anodic end is read on the rising
    branch, the cathodic one on the falling branch; the uncertainty is half a potential step
    and the noise of the current over its slope. Source: common practice, no source.
    """
    if area <= 0 or limit <= 0:
        raise MethodError(
            f"A potential window needs an area and a current density above zero; got {area:g} m² and {limit:g} A/m²."
        )
    high = _end(up, limit * area, charging)
    low = _end(down, limit * area, charging)
    inside = float(
        max(up.potential.max(), down.potential.max()) - min(up.potential.min(), down.potential.min())
    )
    for end in (low, high):
        if not math.isfinite(end.value):
            return Window(
                low=low,
                high=high,
                width=unknown(f"{end.why}; it is at least {inside:.2f} V"),
                at_least=inside,
            )
    width = Measured(value=high.value - low.value, u=math.hypot(high.u, low.u))
    return Window(low=low, high=high, width=width, at_least=width.value)


def _end(branch: Branch, limit: float, charging: float) -> Measured:
    """Where the branch passes the limit for good, in its own direction."""
    y = branch.direction * branch.current - charging
    side = "anodic" if branch.direction > 0 else "cathodic"
    beyond = y > limit
    if not beyond[-1]:
        return unknown(f"the {side} current does not reach the limit up to {branch.potential[-1]:.3f} V")
    inside = np.flatnonzero(~beyond)
    if inside.size == 0:
        return unknown(f"the {side} current is above the limit everywhere")
    k = int(inside[-1])
    a, b = float(y[k]), float(y[k + 1])
    e = branch.potential
    at = float(e[k] + (limit - a) / (b - a) * (e[k + 1] - e[k]))
    step = abs(float(e[k + 1] - e[k]))
    return Measured(value=at, u=step / math.sqrt(12))
