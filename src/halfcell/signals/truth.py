"""Voltammograms with known truth: what a diffusing or a bound couple would give, plus all that spoils it.

Diffusion to a plane is solved in its integral form (semi-integral of the current), which holds for
any potential programme: Oldham & Spanier, The Fractional Calculus (1974), from memory; discretised with
the current linear between samples. Oxidation current is positive.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from halfcell.constants import FARADAY, STANDARD_TEMPERATURE, thermal_voltage
from halfcell.errors import MethodError
from halfcell.results import read_only
from halfcell.signals.noise import correlated

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Programme:
    """A potential programme: ``time`` (n,) s, ``potential`` (n,) V."""

    time: FloatArray
    potential: FloatArray


def programme(
    corners: tuple[float, ...], rate: float, *, step: float = 1e-3, quiet: float = 0.0, stair: int = 1
) -> Programme:
    """Ramps between corner potentials (V) at ``rate`` V/s, a sample every ``step`` V.

    ``quiet`` seconds are held at the first corner; with ``stair`` > 1 each potential is held for
    that many samples. Raises MethodError for corners that do not differ or a rate not above zero.
    """
    if rate <= 0 or step <= 0 or len(corners) < 2:
        raise MethodError(
            f"A potential programme needs two corners, a rate and a step above zero; got {corners}, {rate}, {step}."
        )
    parts = []
    for a, b in pairwise(corners):
        n = max(round(abs(b - a) / step), 1)
        parts.append(a + (b - a) * np.arange(n) / n)
    e = np.concatenate([*parts, [corners[-1]]])
    dt = step / rate
    held = round(quiet / dt)
    e = np.concatenate([np.full(held, corners[0]), e])
    if stair > 1:
        e = np.repeat(e[::stair], stair)[: e.size]
    return Programme(time=read_only(np.arange(e.size) * dt), potential=read_only(e))


def diffusing(
    time: ArrayLike,
    potential: ArrayLike,
    *,
    formal: float,
    amount: float,
    electrons: float = 1.0,
    rate_constant: float = math.inf,
    alpha: float = 0.5,
    scale: float = 0.0,
    oxidation: bool = True,
    temperature: float = STANDARD_TEMPERATURE,
    inner: int = 1,
) -> FloatArray:
    """Current of one couple that diffuses to a plane, equal diffusion coefficients, one form present.

    Parameters
    ----------
    time, potential : (n,) arrays, s and V
    formal : float
        Formal potential, V.
    amount : float
        n F A c D^1/2 in A s^1/2.
    rate_constant, alpha : float
        Standard rate constant over D^1/2, in s^-1/2 (inf: Nernstian), and the transfer coefficient of
        the reaction that is followed.
    scale : float
        Reaction layer: a catalytic regeneration constant k in 1/s turns the peak into a wave of
        amount × k^1/2 (0: none), exact for the Nernstian couple.
    oxidation : bool
        Whether the bulk holds the reduced form.
    inner : int
        Steps of the solver between samples.

    Returns
    -------
    (n,) array, A, oxidation positive.
    """
    t, e = np.asarray(time, float), np.asarray(potential, float)
    if inner > 1:
        fine = np.interp(np.arange((t.size - 1) * inner + 1) / inner, np.arange(t.size), t)
        out = diffusing(
            fine, np.interp(fine, t, e), formal=formal, amount=amount, electrons=electrons, rate_constant=rate_constant,
            alpha=alpha, scale=scale, oxidation=oxidation, temperature=temperature,
        )  # fmt: skip
        return read_only(out[::inner])
    sign = 1.0 if oxidation else -1.0
    zeta = np.clip(sign * electrons * (e - formal) / thermal_voltage(temperature), -200, 200)
    h = float(np.median(np.diff(t)))
    n = t.size
    weights, first = _weights(n, h, scale)
    i = np.zeros(n)
    # m = semi-integral of i; surface: reduced form amount - m, oxidised form m.
    forward = np.exp(np.minimum(alpha * zeta, 300)) if math.isfinite(rate_constant) else None
    for k in range(1, n):
        history = float(weights[k - 1 : 0 : -1] @ i[1:k]) if k > 1 else 0.0
        if forward is None:
            wanted = amount / (1 + math.exp(-zeta[k]))
            i[k] = (wanted - history) / first
            continue
        kf = rate_constant * forward[k]
        kb = kf * math.exp(-zeta[k])
        i[k] = (kf * amount - (kf + kb) * history) / (1 + (kf + kb) * first)
    return read_only(sign * i)


def _weights(n: int, h: float, regeneration: float) -> tuple[FloatArray, float]:
    """Weights of past currents in the semi-integral (current linear between samples).

    The kernel is (pi t)^-1/2 exp(-k t); its second integral is (4/3) t^3/2 / pi^1/2 for k = 0, else
    k^-3/2 [(x - 1/2) erf(x^1/2) + (x/pi)^1/2 exp(-x)] with x = k t.
    """
    j = np.arange(n + 1, dtype=float)
    if regeneration * h > 1e-7:
        from scipy.special import erf

        x = regeneration * h * j
        twice = ((x - 0.5) * erf(np.sqrt(x)) + np.sqrt(x / math.pi) * np.exp(-x)) / regeneration**1.5
    else:
        twice = (h * j) ** 1.5 / (0.75 * math.sqrt(math.pi))
    w = np.empty(n)
    w[0] = twice[1] / h
    w[1:] = np.diff(twice, 2) / h
    return read_only(w), float(w[0])


def bound(
    potential: ArrayLike,
    rate: ArrayLike,
    *,
    formal: float,
    charge: float,
    electrons: float = 1.0,
    temperature: float = STANDARD_TEMPERATURE,
) -> FloatArray:
    """Current of a Nernstian couple bound to the surface: charge × d(theta)/dE × dE/dt.

    ``rate`` is dE/dt (n,) or a number in V/s (signed); ``charge`` in C. Bard & Faulkner,
    Electrochemical Methods, 2nd ed., section 14.3 (from memory).
    """
    e = np.asarray(potential, float)
    f = electrons / thermal_voltage(temperature)
    s = 0.25 / np.cosh(np.clip(0.5 * f * (e - formal), -300, 300)) ** 2
    return read_only(charge * f * s * np.asarray(rate, float))


def charging(
    time: ArrayLike, potential: ArrayLike, *, capacitance: float, resistance: float = 0.0, leak: float = 0.0
) -> FloatArray:
    """Charging current C dE/dt through a resistance (ohm), plus a leak conductance (S) × E. (n,) A."""
    t, e = np.asarray(time, float), np.asarray(potential, float)
    rate = np.gradient(e, t)
    i = capacitance * rate
    tau = resistance * capacitance
    if tau > 0:
        from scipy.signal import lfilter

        a = math.exp(-float(np.median(np.diff(t))) / tau)
        i = np.asarray(lfilter([1 - a], [1, -a], i), float)
    return read_only(i + leak * e)


def spoiled(
    current: ArrayLike, *, noise: float, rho: float = 0.0, drift: float = 0.0, rng: np.random.Generator
) -> FloatArray:
    """The current with AR(1) noise (A) and a drift that reaches ``drift`` A at the end. (n,) A."""
    i = np.asarray(current, float)
    return read_only(i + correlated(i.size, noise, rho, rng) + drift * np.linspace(0, 1, i.size))


def randles_amount(*, electrons: float, area: float, concentration: float, diffusion: float) -> float:
    """n F A c D^1/2 in A s^1/2 (SI units in)."""
    return electrons * FARADAY * area * concentration * math.sqrt(diffusion)
