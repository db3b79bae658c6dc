"""How the peak current grows with the scan rate: the exponent, and what it means."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Interval, Measured, read_only
from halfcell.statistics.line import fit_line

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray

DIFFUSION, LAYER, BOTH, SLOWER, OPEN = (
    "diffusion",
    "bound layer",
    "diffusion and bound layer",
    "slower than diffusion",
    "not decided",
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PowerLaw:
    """``exponent`` b of i ∝ v^b with its ``interval``; ``word`` is what controls the current.

    ``prefactor`` is ln(i) at 1 V/s; ``rates`` V/s and ``currents`` A are the points; ``scatter``
    is the relative standard deviation about the line.
    """

    exponent: Measured
    interval: Interval
    prefactor: Measured
    word: str
    rates: FloatArray
    currents: FloatArray
    scatter: float
    note: str

    def plot(self, ax: Any) -> None:
        """Points and line on logarithmic axes."""
        ax.loglog(self.rates, self.currents, "o", color="k")
        ax.loglog(self.rates, np.exp(self.prefactor.value) * self.rates**self.exponent.value, color="0.4")
        ax.set_xlabel("v / (V/s)")
        ax.set_ylabel("i_p / A")


def scan_rate_exponent(
    rates: ArrayLike, currents: ArrayLike, *, level: float = 0.95, near: float = 0.03
) -> PowerLaw:
    """ln |i_p| = a + b ln v by least squares.

    Parameters
    ----------
    rates, currents : (k,) arrays, V/s and A (sizes are taken)
    near : float
        An exponent whose whole interval lies within this of 1/2 or 1 counts as it.

    Raises
    ------
    MethodError
        Fewer than three different scan rates; rates or currents that are not above zero.

    Notes
    -----
    b = 1/2 for diffusion to a plane, 1 for a bound layer; an interval between the two that holds
    neither is a mixture, one below 1/2 a current held back by kinetics, resistance or radial
    diffusion; one that holds both decides nothing. Bard & Faulkner, Electrochemical Methods,
    2nd ed., 6.2 and 14.3 (from memory).
    """
    v, i = np.asarray(rates, float), np.abs(np.asarray(currents, float))
    if np.unique(v).size < 3:
        raise MethodError(f"An exponent needs three different scan rates; there are {np.unique(v).size}.")
    if np.any(v <= 0) or np.any(~(i > 0)):
        raise MethodError("Scan rates and peak currents must be above zero.")
    line = fit_line(np.log(v), np.log(i))
    interval = line.slope.interval(level)
    low, high = interval.low, interval.high
    span = float(v.max() / v.min())
    note = "" if span >= 8 else f"the scan rates span a factor of {span:.3g} only"
    return PowerLaw(
        exponent=line.slope,
        interval=interval,
        prefactor=line.intercept,
        word=_meaning(low, high, near),
        rates=read_only(v),
        currents=read_only(i),
        scatter=line.residual_sd,
        note=note,
    )


def _meaning(low: float, high: float, near: float) -> str:
    holds_half, holds_one = low <= 0.5 <= high, low <= 1.0 <= high
    if holds_half and holds_one:
        return OPEN
    if holds_half or (abs(low - 0.5) < near and abs(high - 0.5) < near):
        return DIFFUSION
    if holds_one or low > 1 or (abs(low - 1) < near and abs(high - 1) < near):
        return LAYER
    return SLOWER if high < 0.5 else BOTH


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Parts:
    """i(E) = k1 v + k2 v^1/2 at each potential (n,): ``surface`` k1 (A s/V), ``diffusional`` k2 (A s^1/2/V^1/2).

    ``surface_u`` and ``diffusional_u`` are standard errors; ``share`` (n,) is the diffusional share of
    the current at ``reference`` V/s, between 0 and 1 where both parts have one sign, else nan.
    """

    potential: FloatArray
    surface: FloatArray
    surface_u: FloatArray
    diffusional: FloatArray
    diffusional_u: FloatArray
    share: FloatArray
    reference: float

    def share_at(self, potential: float) -> Measured:
        """The diffusional share at a potential, with its standard uncertainty."""
        k = int(np.argmin(np.abs(self.potential - potential)))
        a, b = self.surface[k] * self.reference, self.diffusional[k] * math.sqrt(self.reference)
        ua, ub = self.surface_u[k] * self.reference, self.diffusional_u[k] * math.sqrt(self.reference)
        if a + b == 0:
            return Measured(value=math.nan, why="no current there")
        total = a + b
        u = math.hypot(a * ub, b * ua) / total**2
        return Measured(value=float(min(max(b / total, 0.0), 1.0)), u=float(u))


def separate_parts(potential: ArrayLike, currents: ArrayLike, rates: ArrayLike, *, reference: float) -> Parts:
    """The part growing with v and the part growing with v^1/2, point by point along one branch.

    Parameters
    ----------
    potential : (n,) array, V
    currents : (k, n) array, A
        One row a scan rate, on the same potentials.
    rates : (k,) array, V/s
    reference : float
        Scan rate at which the share is stated, V/s.

    Raises MethodError for fewer than three scan rates. Rows are weighted by 1/v, which makes the fit
    that of i/v^1/2 against v^1/2. Where peaks move with the scan rate the split mixes neighbouring
    potentials: it is exact only for potentials on the foot or for a reversible process
    (common practice, no source).
    """
    e, i, v = np.asarray(potential, float), np.asarray(currents, float), np.asarray(rates, float)
    if np.unique(v).size < 3 or i.shape != (v.size, e.size):
        raise MethodError(
            f"Telling the parts apart needs three scan rates on common potentials; got {np.unique(v).size} rates, currents {i.shape}."
        )
    x, y = np.sqrt(v), i / np.sqrt(v)[:, None]
    middle = x.mean()
    sxx = float(np.sum((x - middle) ** 2))
    k1 = (x - middle) @ y / sxx
    k2 = y.mean(0) - k1 * middle
    rest = y - k2 - x[:, None] * k1
    s = np.sqrt(np.sum(rest**2, axis=0) / max(v.size - 2, 1))
    a, b = k1 * reference, k2 * math.sqrt(reference)
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.where(a * b >= 0, np.abs(b) / (np.abs(a) + np.abs(b)), np.nan)
    return Parts(
        potential=read_only(e),
        surface=read_only(k1),
        surface_u=read_only(s / math.sqrt(sxx)),
        diffusional=read_only(k2),
        diffusional_u=read_only(s * math.sqrt(1 / v.size + middle**2 / sxx)),
        share=read_only(share),
        reference=reference,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CatalyticTrend:
    """Relative change of i_p/v^1/2 a decade of scan rate: ``trend``; ``word`` is its reading."""

    trend: Measured
    interval: Interval
    rates: FloatArray
    functions: FloatArray
    word: str


def catalytic_trend(rates: ArrayLike, currents: ArrayLike, *, level: float = 0.95) -> CatalyticTrend:
    """i_p/v^1/2 against log v, relative to its mean.

    Falling: a reaction regenerates the analyte or precedes the transfer (Nicholson & Shain 1964, cases
    V to VIII; from memory); rising: a bound layer takes part; level: diffusion alone.
    Raises MethodError for fewer than three scan rates.
    """
    v, i = np.asarray(rates, float), np.abs(np.asarray(currents, float))
    if np.unique(v).size < 3 or np.any(v <= 0):
        raise MethodError(
            f"A trend needs three different scan rates above zero; there are {np.unique(v).size}."
        )
    y = i / np.sqrt(v)
    line = fit_line(np.log10(v), y / y.mean())
    interval = line.slope.interval(level)
    word = "falling" if interval.high < 0 else "rising" if interval.low > 0 else "level"
    return CatalyticTrend(
        trend=line.slope, interval=interval, rates=read_only(v), functions=read_only(y), word=word
    )
