"""A couple's forward and reverse peaks: separation, ratio, and the standard rate constant."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.constants import STANDARD_TEMPERATURE, thermal_voltage
from halfcell.errors import MethodError
from halfcell.results import Measured, read_only, unknown
from halfcell.voltammetry.shapes import REVERSIBLE_HALF_WIDTH

if TYPE_CHECKING:
    from halfcell.results import FloatArray

# n·ΔE_p in mV at 25 °C for ψ, computed by signals.truth.diffusing (alpha 0.5, equal D, reversal 141/n mV beyond
# E1/2, 0.1 mV steps, extrapolated to zero step); tests hold it to Nicholson's printed table within 2 mV.
_PSI = (
    (20.0, 60.23), (15.0, 60.66), (10.0, 61.51), (7.0, 62.59), (6.0, 63.19), (5.0, 64.03), (4.0, 65.28), (3.0, 67.34), (2.0, 71.41),
    (1.5, 75.38), (1.0, 83.07), (0.75, 90.44), (0.5, 104.28), (0.35, 120.48), (0.25, 139.68), (0.17, 166.48), (0.1, 210.67),
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Couple:
    """What forward and reverse peaks say together.

    ``separation`` ΔE_p (V), ``middle`` (E_pa + E_pc)/2 (V), ``ratio`` reverse over forward peak
    current (Nicholson's correction), ``half_width`` |E_p - E_p/2| of the forward peak (V). ``psi`` and
    ``rate_constant`` (m/s) where the separation lies in the range of ψ. ``word``: "reversible", "quasi-reversible" or
    "irreversible", by the separation's interval.
    """

    separation: Measured
    middle: Measured
    ratio: Measured
    psi: Measured
    rate_constant: Measured
    word: str
    notes: tuple[str, ...]


def judge_couple(
    forward: Measured,
    reverse: Measured,
    *,
    ratio: Measured,
    rate: float,
    electrons: float = 1.0,
    diffusion: float | None = None,
    temperature: float = STANDARD_TEMPERATURE,
) -> Couple:
    """Judge a couple from its two peak potentials (V) and the ratio of its peak currents.

    ``rate`` V/s; ``diffusion`` m²/s for the rate constant. At the usual reversal (141/n mV beyond E1/2) a
    reversible couple shows ΔE_p = 58.9/n mV at 25 °C, not 57.0. Sources: Nicholson, Anal. Chem. 1965,
    37, 1351 (ψ); Bard & Faulkner, Electrochemical Methods, 2nd ed., 6.5 (from memory).
    """
    gap = Measured(value=abs(forward.value - reverse.value), u=math.hypot(forward.u, reverse.u))
    middle = Measured(value=(forward.value + reverse.value) / 2, u=math.hypot(forward.u, reverse.u) / 2)
    scaled = gap.value * electrons * STANDARD_TEMPERATURE / temperature
    ends = gap.interval(0.95)
    high = ends.high * electrons * STANDARD_TEMPERATURE / temperature if math.isfinite(ends.high) else scaled
    notes = []
    if scaled < 0.050:
        notes.append(
            "the peaks are closer together than diffusion allows: a bound layer, or more electrons than stated"
        )
    speed = math.nan if diffusion is None else math.sqrt(math.pi * diffusion * electrons * rate / thermal_voltage(temperature))  # fmt: skip
    psi, k0 = _kinetics(gap, electrons, speed, temperature)
    low = ends.low * electrons * STANDARD_TEMPERATURE / temperature if math.isfinite(ends.low) else scaled
    word = "reversible" if low <= 0.0615 else "quasi-reversible" if scaled <= 0.212 else "irreversible"
    if word == "reversible" and high > 0.070:
        notes.append("the separation's interval also allows a quasi-reversible transfer")
    return Couple(
        separation=gap, middle=middle, ratio=ratio, psi=psi, rate_constant=k0, word=word, notes=tuple(notes)
    )  # fmt: skip


def peak_ratio(reverse_height: Measured, switching: Measured, forward: Measured) -> Measured:
    """i_pr/i_pf = i_pr0/i_pf + 0.485 i_sp0/i_pf + 0.086, all heights from the zero line, sizes in A.

    Nicholson, Anal. Chem. 1966, 38, 1406 (from memory). Raises MethodError for a forward peak of no height.
    """
    if not forward.value > 0:
        raise MethodError(f"The forward peak must have a height above zero; it is {forward.value:.3g} A.")
    a, b = reverse_height.value / forward.value, switching.value / forward.value
    u = (
        math.sqrt(reverse_height.u**2 + (0.485 * switching.u) ** 2 + ((a + 0.485 * b) * forward.u) ** 2)
        / forward.value
    )
    return Measured(value=a + 0.485 * b + 0.086, u=u)


def psi_of_separation(separation: float, *, temperature: float = STANDARD_TEMPERATURE) -> float:
    """Nicholson's ψ from n·ΔE_p in V (Anal. Chem. 1965, 37, 1351). Raises MethodError outside 60.2 to 210.7 mV (at 25 °C)."""
    mv = separation * 1e3 * STANDARD_TEMPERATURE / temperature
    gaps = np.array([g for _, g in _PSI])
    if not gaps[0] <= mv <= gaps[-1]:
        what = (
            "reversible at this scan rate; go faster"
            if mv < gaps[0]
            else "irreversible at this scan rate; go slower"
        )
        raise MethodError(
            f"ψ is defined between {gaps[0]:.1f} and {gaps[-1]:.1f} mV; the separation is {mv:.1f} mV: {what}."
        )
    return float(np.exp(np.interp(mv, gaps, np.log([p for p, _ in _PSI]))))


def separations_of_psi() -> tuple[FloatArray, FloatArray]:
    """ψ from 20 down to 0.1 and n·ΔE_p (V) at 25 °C, reversed 141/n mV beyond E1/2, alpha 0.5."""
    return read_only([p for p, _ in _PSI]), read_only([g / 1e3 for _, g in _PSI])


def _kinetics(gap: Measured, electrons: float, speed: float, temperature: float) -> tuple[Measured, Measured]:
    """ψ and k⁰, which is ψ times ``speed`` (m/s)."""
    try:
        psi = psi_of_separation(gap.value * electrons, temperature=temperature)
    except MethodError as error:
        return unknown(str(error)), unknown(str(error))
    spread = []
    for shift in (-1, 1):
        try:
            spread.append(
                psi_of_separation(gap.value * electrons + shift * gap.u * electrons, temperature=temperature)
            )
        except MethodError:
            continue
    u = max((abs(s - psi) for s in spread), default=math.nan)
    if len(spread) < 2:
        u = math.nan if not spread else 2 * u
    measured = Measured(value=psi, u=u)
    if math.isnan(speed):
        return measured, unknown("the diffusion coefficient is not known")
    return measured, measured.times(speed)


def electrons_from_half_width(
    peak: Measured, half: Measured, *, temperature: float = STANDARD_TEMPERATURE
) -> Measured:
    """n = 2.202 RT/(F |E_p - E_p/2|) of a reversible peak, potentials in V (Nicholson & Shain 1964).

    Raises MethodError where the two potentials do not differ.
    """
    width = abs(peak.value - half.value)
    if not width > 0:
        raise MethodError("The peak and half-peak potentials do not differ.")
    value = REVERSIBLE_HALF_WIDTH * thermal_voltage(temperature) / width
    return Measured(value=value, u=value * math.hypot(peak.u, half.u) / width, df=min(peak.df, half.df))
