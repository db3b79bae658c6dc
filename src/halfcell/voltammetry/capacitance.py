"""Double-layer capacitance from half the difference of the charging currents of both directions."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Measured, coverage_factor, read_only
from halfcell.signals.branch import Branch, interpolated
from halfcell.signals.noise import record_noise

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Loop:
    """Both branches of one blank and its scan rate (V/s)."""

    up: Branch
    down: Branch
    rate: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Capacitance:
    """``capacitance`` in F; ``exponent`` m of i ∝ v^m with ``exponent_low`` … ``exponent_high`` at 95 %.

    ``window`` (V) is where the currents were read; ``rates`` (k,) V/s and ``currents`` (k,) A are the
    points, ``u`` (k,) their standard uncertainties. ``straight`` is False where the exponent's
    interval excludes 1 by more than 0.05: the current read is then not charging alone.
    ``offset`` is the straight line's intercept (A).
    """

    capacitance: Measured
    exponent: Measured
    exponent_low: float
    exponent_high: float
    straight: bool
    offset: Measured
    window: tuple[float, float]
    rates: FloatArray
    currents: FloatArray
    u: FloatArray
    notes: tuple[str, ...]

    def plot(self, ax: Any) -> None:
        """Points and line."""
        ax.errorbar(self.rates, self.currents, self.u, fmt="o", color="k")
        x = np.array([0, self.rates.max()])
        ax.plot(x, self.offset.value + self.capacitance.value * x, color="0.4")
        ax.set_xlabel("scan rate / (V/s)")
        ax.set_ylabel("half-difference / A")


def measure_capacitance(
    loops: Sequence[Loop],
    *,
    at: float | None = None,
    width: float = 0.05,
    level: float = 0.95,
    resistance: float = 0.0,
) -> Capacitance:
    """Capacitance from blanks at one or more scan rates.

    Parameters
    ----------
    loops : Loop
        Blanks of one electrode at different scan rates.
    at : float, optional
        Potential (V) at the middle of the window; empty: the window with the most even charging.
    width : float
        Width of the window, V.
    resistance : float
        Uncompensated resistance (ohm), only to keep away from the turning points by 5 RC·v.

    Raises
    ------
    MethodError
        No loop; no potential in common; a faradaic process in every window (or in the one asked for).

    Notes
    -----
    At each scan rate the half-difference (i_up - i_down)/2 is averaged over the window; C is the slope
    of the half-difference against v by least squares, for one scan rate half-difference/v. The standard
    uncertainty adds the slope's and the spread of the capacitance over the windows next to it. With
    three or more rates i = a v^m is fitted on logarithms and m compared with 1. A window is refused
    when the half-sum varies inside it by more than the half-difference itself, or the half-difference
    is not even: its change over the window above 40 % (both are marks of a faradaic process).
    Methods: Bard & Faulkner, Electrochemical Methods, 2nd ed., section 6.2.4 (from memory);
    the window's criteria are common practice, no source.
    """
    if not loops:
        raise MethodError("A capacitance needs at least one blank with both directions.")
    grid, differences, sums = _common(loops, width)
    rates = np.array([loop.rate for loop in loops])
    noise = np.array(
        [
            math.hypot(record_noise(one.up.current).sigma, record_noise(one.down.current).sigma) / 2
            for one in loops
        ]
    )
    middles = (
        np.array([at])
        if at is not None
        else np.arange(grid[0] + width / 2, grid[-1] - width / 2 + 1e-9, width / 2)
    )
    scores = np.array([_unevenness(grid, differences, sums, m, width) for m in middles])
    best = int(np.argmin(scores))
    if not scores[best] < 1.0:
        raise MethodError(
            f"No charging current could be read: {'at' if at is not None else 'everywhere, at best at'} {middles[best]:.3f} V the current is not "
            f"even over {width * 1e3:.0f} mV (score {scores[best]:.2f}, must be below 1), as it is where something reacts."
        )
    window = (float(middles[best] - width / 2), float(middles[best] + width / 2))
    currents, u = _read(grid, differences, window, noise)
    value, offset, notes = _slope(rates, currents, u)
    near = [
        m
        for m, s in zip(middles, scores, strict=True)
        if s < min(1.0, 2 * scores[best] + 0.1) and abs(m - middles[best]) <= 2 * width
    ]
    others = [
        _slope(rates, _read(grid, differences, (m - width / 2, m + width / 2), noise)[0], u)[0].value
        for m in near
    ]
    spread = float(np.std(others)) if len(others) > 1 else 0.0
    exponent, low, high = _exponent(rates, currents, u, level)
    straight = not (math.isfinite(low) and (low > 1.05 or high < 0.95))
    if not straight:
        notes = (
            *notes,
            f"the charging current grows as v^{exponent.value:.3f}, not in proportion: something besides charging is read",
        )
    return Capacitance(
        capacitance=Measured(value=value.value, u=math.hypot(value.u, spread), df=value.df, why=value.why),
        exponent=exponent,
        exponent_low=low,
        exponent_high=high,
        straight=straight,
        offset=offset,
        window=window,
        rates=read_only(rates),
        currents=read_only(currents),
        u=read_only(u),
        notes=notes,
    )


def _common(
    loops: Sequence[Loop], width: float
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """A grid inside all branches, 6 % of the range away from the turning points, and (k, m) half-differences and half-sums."""
    low = max(float(b.potential.min()) for one in loops for b in (one.up, one.down))
    high = min(float(b.potential.max()) for one in loops for b in (one.up, one.down))
    edge = 0.06 * (high - low)
    low, high = low + edge, high - edge
    if high - low < width:
        raise MethodError(
            f"The blanks have {max(high - low, 0) * 1e3:.0f} mV in common away from their ends; the window is {width * 1e3:.0f} mV."
        )
    grid = np.linspace(low, high, max(int((high - low) / width * 24), 48))
    up = np.array([interpolated(one.up, grid) for one in loops])
    down = np.array([interpolated(one.down, grid) for one in loops])
    return grid, (up - down) / 2, (up + down) / 2


def _unevenness(
    grid: NDArray[np.float64],
    differences: NDArray[np.float64],
    sums: NDArray[np.float64],
    middle: float,
    width: float,
) -> float:
    mask = np.abs(grid - middle) <= width / 2
    if mask.sum() < 4:
        return math.inf
    x = (grid[mask] - middle) / width
    d, s = differences[:, mask], sums[:, mask]
    level = np.mean(d, axis=1)
    if np.any(level <= 0):
        return math.inf
    slope_d = np.abs(np.polyfit(x, d.T, 1)[0]) / level
    slope_s = np.abs(np.polyfit(x, s.T, 1)[0]) / level
    # The half-sum of pure charging is zero; a small constant leak is allowed, a large one is not.
    lean = np.abs(np.mean(s, axis=1)) / level
    return float(np.max(np.maximum(np.maximum(slope_d / 0.4, slope_s / 1.0), lean / 3.0)))


def _read(
    grid: NDArray[np.float64],
    differences: NDArray[np.float64],
    window: tuple[float, float],
    noise: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    mask = (grid >= window[0]) & (grid <= window[1])
    return differences[:, mask].mean(axis=1), noise / math.sqrt(max(int(mask.sum()) / 4, 1.0))


def _slope(
    rates: NDArray[np.float64], currents: NDArray[np.float64], u: NDArray[np.float64]
) -> tuple[Measured, Measured, tuple[str, ...]]:
    different = np.unique(rates).size
    if different < 3:
        each = currents / rates
        inside = float(np.sqrt(np.mean((u / rates) ** 2) / rates.size))
        spread = float(np.std(each, ddof=1)) / math.sqrt(rates.size) if rates.size > 1 else 0.0
        note = f"from {different} scan rate{'s' if different > 1 else ''}: that the current is proportional to it was not tested"
        df = rates.size - 1 if spread > inside else math.inf
        return (
            Measured(value=float(each.mean()), u=max(spread, inside), df=df, why=note),
            Measured(value=0.0, why=note),
            (note,),
        )
    from halfcell.statistics.line import fit_line

    line = fit_line(rates, currents)
    notes = (
        ()
        if different >= 4
        else (f"from {different} scan rates; four or more test the straight line better",)
    )
    return line.slope, line.intercept, notes


def _exponent(
    rates: NDArray[np.float64], currents: NDArray[np.float64], u: NDArray[np.float64], level: float
) -> tuple[Measured, float, float]:
    if np.unique(rates).size < 3 or np.any(currents <= 0):
        why = "an exponent needs three scan rates with currents above zero"
        return Measured(value=math.nan, why=why), math.nan, math.nan
    from halfcell.statistics.line import fit_line

    line = fit_line(np.log(rates), np.log(currents))
    k = coverage_factor(level, line.slope.df)
    return line.slope, line.slope.value - k * line.slope.u, line.slope.value + k * line.slope.u
