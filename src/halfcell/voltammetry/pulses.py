"""Differential pulse and square wave: the net peak, and what forward and backward currents say."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.constants import STANDARD_TEMPERATURE, thermal_voltage
from halfcell.errors import MethodError
from halfcell.results import Measured, read_only, unknown
from halfcell.voltammetry.peak import Peak, measure_peak

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PulsePeak:
    """``net`` is the peak of the difference; ``half_wave`` E1/2 (V) corrected for half the pulse.

    ``width_ratio`` is the net peak's width over that of a reversible couple with the stated electrons
    and pulse (1: reversible). For square wave: ``forward`` and ``backward`` peaks where both currents are
    there, ``separation`` of their potentials (V, 0 for a reversible couple) and ``balance`` of their
    heights, backward over forward (near 1 for a reversible couple, 0 or less for an irreversible one).
    """

    net: Peak
    half_wave: Measured
    width_ratio: Measured
    forward: Peak | None
    backward: Peak | None
    separation: Measured
    balance: Measured
    notes: tuple[str, ...]


def net_current(forward: ArrayLike, backward: ArrayLike) -> FloatArray:
    """Forward less backward current, (n,) arrays, A, as the technique defines it. Raises MethodError for arrays of unequal length."""
    f, b = np.asarray(forward, float), np.asarray(backward, float)
    if f.shape != b.shape:
        raise MethodError(f"Forward and backward currents have unequal lengths, {f.size} and {b.size}.")
    return read_only(f - b)


def reversible_width(
    pulse: float, *, electrons: float = 1.0, temperature: float = STANDARD_TEMPERATURE
) -> float:
    """Full width at half height in V of a reversible differential-pulse peak; 90.6/n mV for a small pulse.

    The shape is 1/(1 + e^(x - a)) - 1/(1 + e^(x + a)), a = nF|pulse|/2RT (Parry & Osteryoung, Anal.
    Chem. 1965, 37, 1634; from memory). For square wave give twice the amplitude: an approximation to a few
    percent, because currents of earlier pulses add to it.
    """
    unit = thermal_voltage(temperature) / electrons
    a = max(abs(pulse) / unit / 2, 1e-6)
    # The shape is sinh a/(cosh a + cosh x): half of its maximum at cosh x = cosh a + 2.
    return 2 * math.acosh(math.cosh(a) + 2) * unit


def analyse_pulses(
    potential: ArrayLike,
    net: ArrayLike,
    *,
    sign: int = 1,
    pulse: float | None = None,
    kind: str = "differential pulse",
    forward: ArrayLike | None = None,
    backward: ArrayLike | None = None,
    electrons: float = 1.0,
    window: tuple[float, float] | None = None,
    temperature: float = STANDARD_TEMPERATURE,
) -> PulsePeak:
    """The peak of a pulse record.

    Parameters
    ----------
    potential, net : (n,) arrays, V and A
        Base potential of each step and the difference current.
    sign : int
        +1 for an oxidation, -1 for a reduction (sign of ``net``).
    pulse : float, optional
        Pulse height (differential pulse) or amplitude (square wave), V, size; corrects the half-wave potential
        and the ideal width.
    kind : str
        "differential pulse" or "square wave".
    forward, backward : (n,) arrays, A, optional

    Raises
    ------
    MethodError
        No peak, or as ``measure_peak``.

    Notes
    -----
    Differential pulse: the peak stands half a pulse before the half-wave potential, E1/2 = E_p ± pulse/2 in
    the scan's direction, where the base potential is exported; square wave of a reversible couple
    peaks at E1/2. Bard & Faulkner, Electrochemical Methods, 2nd ed., 7.3 (from memory).
    """
    e = np.asarray(potential, float)
    way = 1 if e[-1] > e[0] else -1
    peak = measure_peak(e, net, sign=sign, window=window, returns=True)
    notes = []
    size = None if pulse is None else abs(pulse)
    if kind == "square wave":
        half = peak.potential
        wide = 2 * size if size is not None else None
    else:
        half = (
            peak.potential
            if size is None
            else Measured(value=peak.potential.value + way * size / 2, u=peak.potential.u)
        )
        wide = size
        if size is None:
            notes.append(
                "the pulse height is not stated: the half-wave potential is the peak's, too early by half a pulse"
            )
    ideal = reversible_width(wide or 0.0, electrons=electrons, temperature=temperature)
    ratio = peak.width.times(1 / ideal) if math.isfinite(peak.width.value) else unknown(peak.width.why)
    ahead, back = None, None
    separation, balance = (
        unknown("forward and backward currents are not in the file"),
        unknown("forward and backward currents are not in the file"),
    )
    if forward is not None and backward is not None:
        near = (peak.potential.value - 0.15, peak.potential.value + 0.15)
        ahead, back, separation, balance = _two(e, forward, backward, sign, near)
    return PulsePeak(
        net=peak,
        half_wave=half,
        width_ratio=ratio,
        forward=ahead,
        backward=back,
        separation=separation,
        balance=balance,
        notes=tuple(notes),
    )


def _two(
    e: FloatArray, forward: ArrayLike, backward: ArrayLike, sign: int, near: tuple[float, float]
) -> tuple[Peak | None, Peak | None, Measured, Measured]:
    ahead = measure_peak(e, forward, sign=sign, window=near)
    try:
        back = measure_peak(e, backward, sign=-sign, window=near)
    except MethodError as error:
        return (
            ahead,
            None,
            unknown(f"no backward peak: {error}"),
            Measured(value=0.0, u=ahead.height.u / ahead.height.value, why="no backward peak"),
        )
    gap = Measured(
        value=abs(ahead.potential.value - back.potential.value),
        u=math.hypot(ahead.potential.u, back.potential.u),
    )
    share = back.height.value / ahead.height.value
    u = share * math.hypot(back.height.u / back.height.value, ahead.height.u / ahead.height.value)
    return ahead, back, gap, Measured(value=share, u=u)
