"""The plausible baselines of a peak: the first is used, the spread of all is an uncertainty."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import read_only
from halfcell.signals.baselines import (
    Baseline,
    inside,
    polynomial_baseline,
    smooth_baseline,
    tangent_baseline,
    window_baseline,
)
from halfcell.signals.noise import effective_size

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
    for name, (a, b), order in _variants(foot, w):
        stretch = [(at + forwards * a, at + forwards * b)]
        if far is not None:
            stretch.append((at + forwards * far[0], at + forwards * far[1]))
            order = max(order, 1)
        if subtracted and far is None and order == 1 and inside(e, stretch).sum() >= 7:
            found.append((name, _weighed(e, y, stretch, rho)))
        elif inside(e, stretch).sum() >= order + 6:
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


def _variants(foot: tuple[float, float], w: float) -> list[tuple[str, tuple[float, float], int]]:
    a, b = foot
    long_enough = b - a >= 2.0 * w
    line = ("line through the foot", (a, b), 1)
    flat = ("constant through the foot", (a, b), 0)
    if not long_enough:
        return [flat, ("constant through the second half of the foot", ((a + b) / 2, b), 0)]
    varied = [
        ("line through the foot, begun later", (a + 0.3 * (b - a), b), 1),
        ("line through the foot, ended earlier", (a, b - 0.15 * (b - a)), 1),
        ("line through the foot, ended later", (a, min(b + 0.5 * w, -2.5 * w)), 1),
    ]
    return [line, *varied]


def _weighed(
    x: NDArray[np.float64], y: NDArray[np.float64], stretch: list[tuple[float, float]], rho: float
) -> Baseline:
    """Line and constant averaged by their weights of evidence (BIC) inside the foot."""
    line = window_baseline(x, y, stretch, order=1, rho=rho)
    flat = window_baseline(x, y, stretch, order=0, rho=rho)
    n = effective_size(float(inside(x, stretch).sum()), rho)
    gain = n * math.log(max(flat.misfit, 1e-300) ** 2 / max(line.misfit, 1e-300) ** 2) - math.log(max(n, 2.0))
    w = 1 / (1 + math.exp(-min(max(gain / 2, -300.0), 300.0)))
    mixed = w * line.u**2 + (1 - w) * flat.u**2 + w * (1 - w) * (line.values - flat.values) ** 2
    return Baseline(
        kind="line" if w > 0.5 else "constant",
        values=read_only(w * line.values + (1 - w) * flat.values),
        u=read_only(np.sqrt(mixed)),
        windows=line.windows,
        misfit=line.misfit,
        note=f"weight of the slope {w:.2f}",
    )
