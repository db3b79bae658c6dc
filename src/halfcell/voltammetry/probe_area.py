"""The area a diffusing couple sees at several scan rates, with the speed of its transfer read from all its peak separations."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.constants import STANDARD_TEMPERATURE, thermal_voltage
from halfcell.errors import MethodError
from halfcell.results import Measured, effective_df, read_only, unknown
from halfcell.statistics.line import fit_line
from halfcell.voltammetry.randles_sevcik import quasi_reversible_factor, solve
from halfcell.voltammetry.reversibility import separations_of_psi

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray

ALPHA, ALPHAS = 0.5, (0.4, 0.6)
_SLOWEST = 10.0
"""1/ψ where its table ends."""
_SURE = 1.96
_SHIFTS_AT = (0.0, 0.05, 0.15, 0.5, 2.0, 6.0, 10.0)
"""1/ψ at which the reversal's and alpha's effect on the separation is computed."""
_OPEN = "The peaks are so far apart, or their places so uncertain, that their distance says nothing of how fast the transfer is."
_FINEST = 5e-5
"""A separation is not known better than this, V: the table's own last digits."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ProbeArea:
    """``area`` (m²) and what it rests on.

    ``slowness`` is 1/k0 (s/m), unbiased, so that scatter can bring it below zero for a fast couple; ``rate_constant``
    (m/s) where it is above zero by its interval of 95 %, ``slowest`` (m/s) the slowest one that this interval allows.
    ``roots`` (k,) are K√v at the rates (k,), (V/s)^½. ``word``: "reversible" or "quasi-reversible", for words only:
    the area is had in one way.
    """

    area: Measured
    slowness: Measured
    rate_constant: Measured
    slowest: float
    word: str
    roots: FloatArray
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Separation:
    """One couple: ``gap`` ΔE_p (V) at ``rate`` (V/s), the sweep reversed ``reversal`` V beyond the middle of the peaks."""

    gap: Measured
    rate: float
    reversal: float


def area_by_probe(
    rates: ArrayLike,
    heights: ArrayLike,
    couples: list[Separation],
    *,
    electrons: float,
    concentration: float,
    diffusion: Measured,
    temperature: float = STANDARD_TEMPERATURE,
) -> ProbeArea:
    """The area from peak heights that grow as K(k0/v^½)·v^½.

    Parameters
    ----------
    rates, heights : (k,) arrays, V/s and A
    couples : the separations at those rates that show both peaks
    electrons, concentration : n; mol/m³
    diffusion : m²/s; its ``u`` is in the area where it is finite

    Raises
    ------
    MethodError
        No couple with a known separation; separations so unsure, or so large, that they leave the speed open; or a
        line of the heights that does not rise.

    Notes
    -----
    1/k0 is the least-squares value over all separations, weighted by 1/u² and none left out for its size: below the
    reversible separation the curve goes on as a straight line (and K above 1 likewise), as values cut off
    at the reversible one would make the couple too fast or too slow on average. Peaks closer than scatter explains are
    taken as reversible, with what they differ by as the uncertainty. ΔE_p(ψ) is Nicholson's (Anal. Chem.
    1965, 37, 1351) with the reversal as it was, computed; alpha is 0.5, and 0.4 to 0.6 even is in the uncertainty.
    """
    v, i = np.asarray(rates, float), np.asarray(heights, float)
    known = [c for c in couples if math.isfinite(c.gap.u)]
    if not known:
        raise MethodError(_OPEN)
    speed = functools.partial(_speed, electrons=electrons, diffusion=diffusion.value, temperature=temperature)

    def slowness(alpha: float) -> Measured:
        return _slowness(known, [speed(c.rate) for c in known], electrons, temperature, alpha)

    def rooted(slow: float, alpha: float) -> FloatArray:
        factors = [_factor(slow * speed(one) / math.sqrt(math.pi), alpha) for one in v]
        return np.asarray(np.sqrt(v) * np.array(factors), dtype=float)

    def solved(slow: float, alpha: float = ALPHA) -> Measured:
        line = fit_line(rooted(slow, alpha), i).slope
        return solve("area", line, electrons=electrons, concentration=concentration, diffusion=diffusion.value, temperature=temperature).value  # fmt: skip

    slow = slowness(ALPHA)
    closer = slow.value + _SURE * slow.u < 0
    if closer:  # more than scatter: no speed of a diffusing couple is that of these peaks
        slow = Measured(value=0.0, u=abs(slow.value))
    area = solved(slow.value)
    most = slow.value + _SURE * slow.u
    if most > _SLOWEST / max(speed(c.rate) for c in known):
        raise MethodError(_OPEN)
    low, high = (solved(slow.value + s * slow.u).value for s in (-1, 1))
    few, many = (solved(0.0 if closer else slowness(alpha).value, alpha).value for alpha in ALPHAS)
    parts = [(area.u, area.df), (abs(high - low) / 2, slow.df), (abs(many - few) / math.sqrt(12), math.inf)]
    if math.isfinite(diffusion.u):
        parts.append((0.5 * diffusion.u / diffusion.value * area.value, diffusion.df))
    sure = slow.value - _SURE * slow.u > 0
    return ProbeArea(
        area=Measured(value=area.value, u=math.sqrt(sum(u * u for u, _ in parts)), df=effective_df(parts)),
        slowness=slow,
        rate_constant=Measured(value=1 / slow.value, u=slow.u / slow.value**2) if sure else unknown("too fast to be told from a reversible transfer"),
        slowest=1 / most if most > 0 else math.inf,
        word="quasi-reversible" if sure else "reversible",
        roots=read_only(rooted(slow.value, ALPHA)),
        note="the peaks are closer together than diffusion allows" if closer else "",
    )  # fmt: skip


def _speed(rate: float, *, electrons: float, diffusion: float, temperature: float) -> float:
    """k0/ψ, m/s."""
    return math.sqrt(math.pi * diffusion * electrons * rate / thermal_voltage(temperature))


def _factor(slow: float, alpha: float) -> float:
    """K at 1/Λ; below zero the curve goes on through 1 as it came."""
    if slow == 0:
        return 1.0
    return float(1 - math.copysign(1 - quasi_reversible_factor(1 / abs(slow), alpha), slow))


def _slowness(known: list[Separation], speeds: list[float], electrons: float, temperature: float, alpha: float) -> Measured:  # fmt: skip
    """1/k0 by weighted least squares; the uncertainty grows where the separations scatter more than they should."""
    scale = electrons * STANDARD_TEMPERATURE / temperature
    gaps = np.array([c.gap.value * scale for c in known])
    us = np.array([max(c.gap.u * scale, _FINEST) for c in known])
    curves = [separations(round(min(max(c.reversal * scale, 0.08), 0.5), 2), alpha) for c in known]
    grid = np.linspace(-2.0, 1.2 * _SLOWEST, 281) / max(speeds)
    for _ in range(2):  # once over all, once near the best
        models = np.array([_on(grid * s, curve) for s, curve in zip(speeds, curves, strict=True)])
        chi = np.sum(((gaps[:, None] - models) / us[:, None]) ** 2, axis=0)
        best, step = int(np.clip(np.argmin(chi), 2, grid.size - 3)), grid[1] - grid[0]
        at, least, slopes = grid[best], chi[best], (models[:, best + 2] - models[:, best - 2]) / (4 * step)
        grid = np.linspace(at - 2 * step, at + 2 * step, 41)
    # The foot of the parabola: one step of Gauss and Newton from the best of the finer grid.
    pull = float(np.sum(slopes * (gaps - models[:, best]) / us**2))
    bend = float(np.sum((slopes / us) ** 2))
    spread = math.sqrt(float(least) / (len(known) - 1)) if len(known) > 1 else 0.0
    return Measured(value=float(at) + pull / bend, u=max(1.0, spread) / math.sqrt(bend))


def _on(slow: FloatArray, curve: tuple[FloatArray, FloatArray]) -> FloatArray:
    """n·ΔE_p at 25 °C (V) at 1/ψ, on in a straight line at both ends."""
    x, y = curve
    inside = np.interp(slow, x, y)
    below, above = slow < x[0], slow > x[-1]
    inside[below] = y[0] + (slow[below] - x[0]) * (y[1] - y[0]) / (x[1] - x[0])
    inside[above] = y[-1] + (slow[above] - x[-1]) * (y[-1] - y[-2]) / (x[-1] - x[-2])
    return np.asarray(inside)


@functools.lru_cache(maxsize=64)
def separations(reversal: float, alpha: float = ALPHA) -> tuple[FloatArray, FloatArray]:
    """1/ψ (k,) from 0 to 10 and n·ΔE_p at 25 °C (V) of sweeps reversed n·``reversal`` V beyond E½.

    The table for a reversal 141 mV beyond and alpha 0.5, moved by what the integral equation gives for these.
    """
    from scipy.interpolate import PchipInterpolator

    psi, gaps = separations_of_psi()
    table = PchipInterpolator([0.0, *(1 / psi)], [_gap(0.0, 0.141, ALPHA), *gaps])
    shifts = PchipInterpolator(
        _SHIFTS_AT, [_gap(slow, reversal, alpha) - _gap(slow, 0.141, ALPHA) for slow in _SHIFTS_AT]
    )
    slow = np.linspace(0, math.sqrt(_SLOWEST), 120) ** 2
    return read_only(slow), read_only(table(slow) + shifts(slow))


@functools.lru_cache(maxsize=1024)
def _gap(slow: float, reversal: float, alpha: float) -> float:
    """ΔE_p (V, n = 1, 25 °C) at 1/ψ by the integral equation of signals.truth."""
    from halfcell.signals.truth import diffusing, programme

    f = 1 / thermal_voltage()
    p = programme((-0.3, reversal, -0.35), 1.0, step=1e-3)
    k = math.sqrt(math.pi * f) / slow if slow else math.inf
    i = diffusing(p.time, p.potential, formal=0.0, amount=1.0, rate_constant=k, alpha=alpha)
    turn = int(np.argmax(p.potential))
    return _top(p.potential[: turn + 1], i[: turn + 1]) - _top(p.potential[turn:], -i[turn:])


def _top(e: FloatArray, i: FloatArray) -> float:
    """The potential of the maximum, by a parabola through three samples."""
    k = int(np.clip(np.argmax(i), 1, i.size - 2))
    a, b, c = i[k - 1 : k + 2]
    bend = a - 2 * b + c
    return float(e[k] + (0.5 * (a - c) / bend if bend < 0 else 0.0) * (e[k + 1] - e[k]))
