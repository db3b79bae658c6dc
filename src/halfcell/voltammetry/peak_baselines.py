"""The plausible baselines of a peak: the first is used, the spread of all is an uncertainty."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.signals.baselines import (
    Baseline,
    inside,
    polynomial_baseline,
    smooth_baseline,
    tangent_baseline,
    window_baseline,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

Named = tuple[str, Baseline]


def plausible(
    e: NDArray[np.float64],
    y: NDArray[np.float64],
    at: float,
    half: float,
    *,
    kind: str = "auto",
    windows: Sequence[tuple[float, float]] | None = None,
    subtracted: bool = False,
    rho: float = 0.0,
    returns: bool | None = None,
) -> list[Named]:
    """(name, baseline) pairs for a peak upwards at ``at`` with half-peak potential ``half``.

    ``returns`` says whether the current comes back to the foot's level after it (None: found).

    Raises MethodError when not one baseline can be drawn.
    """
    if windows:
        return _by_hand(e, y, windows, rho)
    automatic = _automatic(e, y, at, half, subtracted, rho, returns)
    if kind in {"auto", "line"}:
        if not automatic:
            raise MethodError(
                f"There is no room for a baseline before the peak at {at:.3f} V: the branch begins at {e[0]:.3f} V. "
                "Name the windows by hand, or begin the scan earlier."
            )
        return automatic
    if kind == "tangent":
        return [("tangent", tangent_baseline(e, y, at)), *automatic]
    if kind == "polynomial":
        return [(f"polynomial, order {k}", polynomial_baseline(e, y, order=k)) for k in (3, 2, 4)]
    return [(f"smooth, penalty {s:.0e}", smooth_baseline(y, stiffness=s)) for s in (1e6, 1e5, 1e7)]


def _by_hand(
    e: NDArray[np.float64], y: NDArray[np.float64], windows: Sequence[tuple[float, float]], rho: float
) -> list[Named]:
    order = 1 if len(windows) > 1 or _length(windows) > 0.05 else 0
    found = [
        (
            "line by hand" if order else "constant by hand",
            window_baseline(e, y, windows, order=order, rho=rho),
        )
    ]
    shorter = [[(a + 0.25 * (b - a), b) for a, b in windows], [(a, b - 0.25 * (b - a)) for a, b in windows]]
    for name, other in zip(("begun later", "ended earlier"), shorter, strict=True):
        if inside(e, other).sum() >= order + 3:
            found.append((f"windows {name}", window_baseline(e, y, other, order=order, rho=rho)))
    return found


def _length(windows: Sequence[tuple[float, float]]) -> float:
    return max(abs(b - a) for a, b in windows)


def _automatic(
    e: NDArray[np.float64],
    y: NDArray[np.float64],
    at: float,
    half: float,
    subtracted: bool,
    rho: float,
    returns: bool | None,
) -> list[Named]:
    forwards = 1 if e[-1] > e[0] else -1
    x = (e - at) * forwards
    w = max(abs(at - half), 2 * float(np.median(np.abs(np.diff(e)))))
    trim = 0.01 * float(np.ptp(e))
    foot = _foot(x, w, float(x[0]) + trim)
    if foot is None:
        return []
    far = _far_side(x, y, w, foot, rho, returns)
    found: list[Named] = []
    for name, (a, b), order in _variants(foot, w, subtracted, x, y, rho):
        stretch = [(at + forwards * a, at + forwards * b)]
        if far is not None:
            stretch.append((at + forwards * far[0], at + forwards * far[1]))
            order = max(order, 1)
        if inside(e, stretch).sum() >= order + 6:
            found.append(
                (
                    name + (" and far side" if far else ""),
                    window_baseline(e, y, stretch, order=order, rho=rho),
                )
            )
    return found


def _foot(x: NDArray[np.float64], w: float, first: float) -> tuple[float, float] | None:
    """From where to where the foot before the peak reaches, relative to it along the scan."""
    for end in (-5.0, -4.5, -4.0, -3.5, -3.0, -2.5):
        a, b = max(first, (end - 8) * w), end * w
        if b - a >= 1.5 * w and np.sum((x >= a) & (x <= b)) >= 8:
            return a, b
    a, b = first, -2.0 * w
    return (a, b) if b > a and np.sum((x >= a) & (x <= b)) >= 8 else None


def _far_side(
    x: NDArray[np.float64],
    y: NDArray[np.float64],
    w: float,
    foot: tuple[float, float],
    rho: float,
    returns: bool | None,
) -> tuple[float, float] | None:
    """A stretch after the peak when the current has come back to the foot's level there."""
    after = (4.0 * w, min(7.0 * w, float(x[-1])))
    mask = (x >= after[0]) & (x <= after[1])
    if after[1] - after[0] < 1.5 * w or mask.sum() < 8:
        return None
    if returns is None:
        base = window_baseline(x, y, [foot], order=1 if foot[1] - foot[0] >= 2 * w else 0, rho=rho)
        up = y - base.values
        height = float(np.max(up[np.abs(x) <= w])) if np.any(np.abs(x) <= w) else 0.0
        returns = abs(float(np.mean(up[mask]))) < 0.1 * height
    return after if returns else None


def _variants(
    foot: tuple[float, float],
    w: float,
    subtracted: bool,
    x: NDArray[np.float64],
    y: NDArray[np.float64],
    rho: float,
) -> list[tuple[str, tuple[float, float], int]]:
    a, b = foot
    long_enough = b - a >= 2.0 * w
    line = ("line through the foot", (a, b), 1)
    flat = ("constant through the foot", (a, b), 0)
    if not long_enough:
        return [flat, ("constant through the second half of the foot", ((a + b) / 2, b), 0)]
    sloping = _sloping(x, y, foot, rho)
    first, second = (line, flat) if (sloping or not subtracted) else (flat, line)
    order = first[2]
    varied = [
        (f"{first[0]}, begun later", (a + 0.3 * (b - a), b), order),
        (f"{first[0]}, ended earlier", (a, b - 0.15 * (b - a)), order),
        (f"{first[0]}, ended later", (a, min(b + 0.5 * w, -2.5 * w)), order),
    ]
    return [first, *varied, second] if subtracted and not sloping else [first, *varied]


def _sloping(x: NDArray[np.float64], y: NDArray[np.float64], foot: tuple[float, float], rho: float) -> bool:
    """Whether the foot's slope differs from zero at about 99 %."""
    mask = (x >= foot[0]) & (x <= foot[1])
    xs, ys = x[mask], y[mask]
    sxx = float(np.sum((xs - xs.mean()) ** 2))
    slope = float((xs - xs.mean()) @ ys) / sxx
    rest = ys - ys.mean() - slope * (xs - xs.mean())
    u = math.sqrt(float(rest @ rest) / max(xs.size - 2, 1) / sxx * (1 + rho) / (1 - rho))
    return abs(slope) > 2.6 * u
