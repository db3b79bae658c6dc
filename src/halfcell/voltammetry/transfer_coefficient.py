"""The transfer coefficient of an irreversible process: from the peak's movement, and from its half-width."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.constants import STANDARD_TEMPERATURE, thermal_voltage
from halfcell.errors import MethodError
from halfcell.results import Interval, Measured, read_only
from halfcell.statistics.line import fit_line
from halfcell.voltammetry.shapes import IRREVERSIBLE_HALF_WIDTH

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PeakShift:
    """``slope`` dE_p/d ln v (V) with its ``interval``; ``alpha_n`` where the peak moves, else unknown.

    ``moves`` is whether the slope differs from zero in the direction of the scan.
    """

    slope: Measured
    interval: Interval
    alpha_n: Measured
    moves: bool
    rates: FloatArray
    potentials: FloatArray

    def plot(self, ax: Any) -> None:
        """Peak potential against ln v."""
        ax.plot(np.log(self.rates), self.potentials, "o", color="k")
        ax.set_xlabel("ln(v / (V/s))")
        ax.set_ylabel("E_p / V")


def peak_shift(
    rates: ArrayLike,
    potentials: ArrayLike,
    *,
    sign: int = 1,
    level: float = 0.95,
    temperature: float = STANDARD_TEMPERATURE,
) -> PeakShift:
    """E_p against ln v for an irreversible transfer: |dE_p/d ln v| = RT/(2 alpha_n F).

    Parameters
    ----------
    rates, potentials : (k,) arrays, V/s and V
    sign : int
        +1 for an oxidation (the peak moves up), -1 for a reduction.

    Raises MethodError for fewer than three scan rates. An uncompensated resistance moves the peak too and
    makes alpha_n too small. Source: Nicholson & Shain, Anal. Chem. 1964, 36, 706.
    """
    v, e = np.asarray(rates, float), np.asarray(potentials, float)
    if np.unique(v).size < 3 or np.any(v <= 0):
        raise MethodError(
            f"A peak's movement needs three different scan rates above zero; there are {np.unique(v).size}."
        )
    line = fit_line(np.log(v), sign * e)
    interval = line.slope.interval(level)
    moves = interval.low > 0
    if moves:
        value = thermal_voltage(temperature) / (2 * line.slope.value)
        alpha = Measured(value=value, u=value * line.slope.u / line.slope.value, df=line.slope.df)
    else:
        alpha = Measured(value=math.nan, why="the peak is not shown to move with the scan rate")
    return PeakShift(
        slope=line.slope,
        interval=interval,
        alpha_n=alpha,
        moves=moves,
        rates=read_only(v),
        potentials=read_only(e),
    )


def alpha_from_half_width(
    peak: Measured, half: Measured, *, temperature: float = STANDARD_TEMPERATURE
) -> Measured:
    """alpha_n = 1.857 RT/(F |E_p - E_p/2|) of an irreversible peak (Nicholson & Shain 1964).

    A reversible peak gives 2.202/1.857 times less than n, which is not alpha_n.
    Raises MethodError when the two potentials do not differ.
    """
    width = abs(peak.value - half.value)
    if not width > 0:
        raise MethodError("The peak and half-peak potentials do not differ.")
    value = IRREVERSIBLE_HALF_WIDTH * thermal_voltage(temperature) / width
    return Measured(value=value, u=value * math.hypot(peak.u, half.u) / width, df=min(peak.df, half.df))
