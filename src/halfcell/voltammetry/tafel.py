"""Tafel slope: the potential that a tenfold current costs, over a stated window, with a test of its straightness."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.constants import STANDARD_TEMPERATURE, thermal_voltage
from halfcell.errors import MethodError
from halfcell.results import Interval, Measured, read_only
from halfcell.statistics.line import Line, fit_line

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray

LEAST_POINTS = 8
BLOCKS = 12


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tafel:
    """``slope`` in V/decade (a size) with its ``interval``; ``alpha_n`` = 2.303 RT/(F·slope).

    ``exchange`` is the current on the line at the equilibrium potential, in the unit of the current given,
    unknown where no equilibrium potential was. ``curvature`` is the change of the local slope from one end of
    the window to the other, V/decade; ``p_straight`` the probability of so much bending from noise alone, and
    ``straight`` whether that exceeds 1 less the level. ``window`` (V) and ``currents`` say what was used, and
    ``decades`` how much current that spans. ``note`` says so in words.
    """

    slope: Measured
    interval: Interval
    alpha_n: Measured
    exchange: Measured
    curvature: Measured
    p_straight: float
    straight: bool
    window: tuple[float, float]
    currents: tuple[float, float]
    decades: float
    note: str
    potential: FloatArray
    logarithm: FloatArray
    fitted: FloatArray

    def plot(self, ax: Any) -> None:
        """Potential against the logarithm of the current, with the line over its window."""
        ax.plot(self.logarithm, self.potential, ".", color="0.6")
        inside = np.isfinite(self.fitted)
        ax.plot(self.logarithm[inside], self.fitted[inside], "-", color="k")
        ax.set_xlabel("log₁₀ |i|")
        ax.set_ylabel("E / V")


def tafel(
    potential: ArrayLike,
    current: ArrayLike,
    *,
    window: tuple[float, float] | None = None,
    decades: tuple[float, float] | None = None,
    sign: int = 1,
    equilibrium: float | None = None,
    level: float = 0.95,
    temperature: float = STANDARD_TEMPERATURE,
) -> Tafel:
    """E = a + b·log₁₀|i| over one stated window.

    Parameters
    ----------
    potential, current : (n,) arrays, V and A (or A/m²: the exchange current is then a density)
        One sweep, corrected for the ohmic drop; what is not finite or of the other sign is left out.
    window : pair of V, optional
        Potentials between which the line is fitted; or
    decades : pair, optional
        currents (sizes, as ``current``) between which it is. One of the two must be given: the slope depends
        on the window, so none is chosen silently.
    sign : int
        +1 for an oxidation, -1 for a reduction.
    equilibrium : float, optional
        V; needed for the exchange current. At overpotentials below about 70 mV the reverse reaction bends
        the line (118/n mV leaves 1 % of it).

    Raises
    ------
    MethodError
        None or both windows; fewer than eight usable samples; a window that holds less than a fifth of a
        decade, or over which the current does not grow with the overpotential.

    Notes
    -----
    Samples of a sweep are neighbours with a common noise, so the line goes through the means of up to twelve
    blocks of the window, whose scatter gives the uncertainty: bending and drift widen it. The test of
    straightness is that of the square term over the blocks; on simulated sweeps it calls 5 % of straight
    lines bent, 9 % where neighbouring samples correlate by 0.8. Tafel, Z. phys. Chem. 1905, 50, 641; Bard &
    Faulkner, Electrochemical Methods, 2nd ed., 3.4 (both from memory).
    """
    e, i = _usable(potential, current, sign)
    inside = _inside(e, i, window, decades)
    x, y = _blocks(np.log10(i[inside]), sign * e[inside])
    line, bent = fit_line(x, y), _square(x, y)
    if not line.slope.value > 0:
        raise MethodError(
            f"The current does not grow with the overpotential over {_words(e[inside], i[inside])} ({line.slope.value * 1e3:.0f} mV/decade)."
        )
    factor = thermal_voltage(temperature) * math.log(10)
    alpha = factor / line.slope.value
    curvature = bent.times(2 * float(np.ptp(x)))
    p = _chance(bent)
    straight = p > 1 - level
    fitted = np.where(inside, sign * (line.intercept.value + line.slope.value * np.log10(i)), math.nan)
    return Tafel(
        slope=line.slope,
        interval=line.slope.interval(level),
        alpha_n=Measured(value=alpha, u=alpha * line.slope.u / line.slope.value, df=line.slope.df),
        exchange=_exchange(line, sign, equilibrium),
        curvature=curvature,
        p_straight=p,
        straight=straight,
        window=(float(e[inside].min()), float(e[inside].max())),
        currents=(float(i[inside].min()), float(i[inside].max())),
        decades=float(np.log10(i[inside].max() / i[inside].min())),
        note=_note(_words(e[inside], i[inside]), straight, p, curvature.value),
        potential=read_only(e),
        logarithm=read_only(np.log10(i)),
        fitted=read_only(fitted),
    )


def _usable(potential: ArrayLike, current: ArrayLike, sign: int) -> tuple[np.ndarray, np.ndarray]:
    e, i = np.asarray(potential, float), sign * np.asarray(current, float)
    if e.shape != i.shape or e.ndim != 1:
        raise MethodError(
            f"Potential and current must be two lists of one length; their shapes are {e.shape} and {i.shape}."
        )
    usable = np.isfinite(e) & np.isfinite(i) & (i > 0)
    return e[usable], i[usable]


def _note(where: str, straight: bool, p: float, change: float) -> str:
    if straight:
        return f"over {where}"
    return f"over {where}; the line is bent (p = {p:.2g}), its slope changes by {change * 1e3:.0f} mV/decade from one end to the other, so that it is the window's and not the reaction's"


def _inside(
    e: np.ndarray, i: np.ndarray, window: tuple[float, float] | None, decades: tuple[float, float] | None
) -> np.ndarray:
    if (window is None) == (decades is None):
        raise MethodError(
            "A Tafel slope depends on its window: name it, either window=(0.45, 0.55) in V or decades=(1e-4, 1e-3) in A, one of the two."
        )
    of, values = (window, e) if window is not None else (decades, i)
    low, high = sorted(of or (0.0, 0.0))
    slack = 1e-9 * max(abs(low), abs(high))
    inside = np.asarray((values >= low - slack) & (values <= high + slack))
    if inside.sum() < LEAST_POINTS:
        raise MethodError(
            f"Between {low:.4g} and {high:.4g} {'V' if window is not None else 'A'} lie {int(inside.sum())} samples with a current of the right sign; a Tafel slope needs {LEAST_POINTS}."
        )
    span = math.log10(float(i[inside].max() / i[inside].min()))
    if span < 0.2:
        raise MethodError(
            f"Too little current range for a Tafel slope, which needs 0.2 decades: {_words(e[inside], i[inside])}."
        )
    return inside


def _words(e: np.ndarray, i: np.ndarray) -> str:
    return f"{e.min():.3f} to {e.max():.3f} V, {math.log10(i.max() / i.min()):.2f} decades from {i.min():.3g} to {i.max():.3g}"


def _blocks(x: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Means of up to twelve runs of neighbours in potential."""
    order = np.argsort(y, kind="stable")
    parts = np.array_split(order, min(BLOCKS, max(x.size // 2, 4)))
    return np.array([x[k].mean() for k in parts]), np.array([y[k].mean() for k in parts])


def _square(x: np.ndarray, y: np.ndarray) -> Measured:
    """The square term of y over x, V/decade², from a line through the parts of y and x² a line leaves."""
    centred = x - x.mean()
    rest = fit_line(centred, centred**2).residuals
    line = fit_line(rest, fit_line(centred, y).residuals, through_zero=True)
    df = max(x.size - 3, 1)
    u = line.slope.u * math.sqrt((x.size - 1) / df)  # two parameters were taken off before
    return Measured(value=line.slope.value, u=u, df=df)


def _chance(bent: Measured) -> float:
    from scipy.stats import t

    if not bent.u > 0:
        return 1.0 if abs(bent.value) < 1e-12 else 0.0
    return float(2 * t.sf(abs(bent.value) / bent.u, bent.df))


def _exchange(line: Line, sign: int, equilibrium: float | None) -> Measured:
    """The line's current at the equilibrium potential, with the covariance of intercept and slope."""
    if equilibrium is None:
        return Measured(value=math.nan, why="no equilibrium potential was given")
    b = line.slope.value
    log = (sign * equilibrium - line.intercept.value) / b
    variance = (line.intercept.u**2 + (log * line.slope.u) ** 2 + 2 * log * line.covariance) / b**2
    value = 10**log
    return Measured(value=value, u=value * math.log(10) * math.sqrt(max(variance, 0.0)), df=line.slope.df)
