"""The model the demo study is computed from: fast, explicit, and apart from the analysis.

* Voltammograms of an irreversible transfer under planar diffusion: the surface concentration is the
  bulk one less the semi-integral of the current, and the current is the rate constant times it
  (Nicholson & Shain 1964 give the same curve as a series; here the integral equation is solved on
  the recorded times with the weights of Grünwald and Letnikov).
* Sparse active points: a steady wave limited by radial transport.
* Charging: C·v through the solution's resistance. Ends of the window: exponentials.
* Stirred solution: a Nernst layer of fixed thickness in series with the rate constant.
* Potential steps: Cottrell beside an exponential charging current.
* Deposition: instantaneous growth of nuclei (Scharifker & Hills 1983) beside charging.
* Noise: white, and first-order autoregressive.

Everything is in SI units with oxidation positive.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.constants import FARADAY, GAS_CONSTANT

if TYPE_CHECKING:
    from halfcell.results import FloatArray

TEMPERATURE = 298.15
F_RT = FARADAY / (GAS_CONSTANT * TEMPERATURE)
RATE_AT_REFERENCE = 1e-5
"""m/s; a reaction's ``potential`` is where its rate constant has this value."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reaction:
    """An irreversible electrode reaction: sign +1 oxidation, −1 reduction; D in m²/s; potential in V."""

    sign: int
    electrons: int
    transfer: float
    potential: float
    diffusion: float

    def rate(self, potential: FloatArray | float) -> FloatArray:
        """Rate constant at potentials, m/s, held below 10 m/s."""
        exponent = self.sign * self.transfer * F_RT * (np.asarray(potential, dtype=float) - self.potential)
        return np.asarray(RATE_AT_REFERENCE * np.exp(np.minimum(exponent, math.log(10 / RATE_AT_REFERENCE))))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sweep:
    """Times (n,) in s, evenly spaced, and potentials (n,) in V."""

    time: FloatArray
    potential: FloatArray
    spacing: float


def triangle(start: float, turn: float, rate: float, step: float, cycles: int) -> Sweep:
    """A cyclic sweep from ``start`` to ``turn`` and back, ``step`` apart."""
    half = round(abs(turn - start) / step)
    out = start + (turn - start) * np.arange(half + 1) / half
    one = np.concatenate([out, out[-2::-1]])
    potential = np.concatenate([one] + [one[1:]] * (cycles - 1))
    spacing = step / rate
    return Sweep(
        time=np.asarray(np.arange(potential.size) * spacing, dtype=float),
        potential=np.asarray(potential, dtype=float),
        spacing=spacing,
    )


def diffusing(
    reaction: Reaction, potential: FloatArray, spacing: float, concentration: float, area: float
) -> FloatArray:
    """Current (n,) in A at evenly spaced times for an irreversible reaction under planar diffusion."""
    n, full = potential.size, reaction.electrons * FARADAY * area
    rate = reaction.rate(potential)
    weights = np.concatenate([[1.0], np.cumprod((np.arange(1, n) - 0.5) / np.arange(1, n))])
    backwards = weights[::-1].copy()
    h = math.sqrt(spacing / reaction.diffusion)
    flux = np.zeros(n)
    below = 1.0 / (1.0 + rate * h)
    for k in range(1, n):
        flux[k] = rate[k] * (concentration - h * float(backwards[n - 1 - k : n - 1] @ flux[:k])) * below[k]
    return reaction.sign * full * flux


def wave(
    reaction: Reaction, potential: FloatArray, concentration: float, area: float, transport: float
) -> FloatArray:
    """Current (n,) in A of a steady wave with a mass-transfer coefficient in m/s over the whole area."""
    rate = reaction.rate(potential)
    return np.asarray(
        reaction.sign
        * reaction.electrons
        * FARADAY
        * area
        * concentration
        * rate
        * transport
        / (rate + transport)
    )


def charging(potential: FloatArray, spacing: float, capacitance: float, resistance: float) -> FloatArray:
    """Charging current (n,) in A of a capacitance in F through a resistance in ohm."""
    from scipy import signal

    slope = np.gradient(potential, spacing)
    slope[1:] = np.diff(potential) / spacing
    keep = math.exp(-spacing / max(resistance * capacitance, 1e-9))
    lagged, _ = signal.lfilter([1 - keep], [1, -keep], slope, zi=[0.0])
    return np.asarray(capacitance * lagged)


def window_ends(potential: FloatArray, low: float, high: float, size: float) -> FloatArray:
    """Current (n,) of the medium's own reactions: ``size`` in A at each end, a decade per 100 mV."""
    return np.asarray(size * (10 ** ((potential - high) / 0.1) - 10 ** ((low - potential) / 0.1)))


def noise(rng: np.random.Generator, n: int, white: float, slow: float, memory: float = 0.7) -> FloatArray:
    """White noise of one standard deviation and autoregressive noise of another, (n,) A."""
    from scipy import signal

    innovations = rng.standard_normal(n) * slow * math.sqrt(1 - memory * memory)
    innovations[0] = rng.standard_normal() * slow
    return np.asarray(signal.lfilter([1.0], [1.0, -memory], innovations) + white * rng.standard_normal(n))


def stirred_sensitivity(reaction: Reaction, potential: float, layer: float, area: float) -> float:
    """Slope of current against concentration in stirred solution, A per mol/m³ (signed)."""
    rate, transport = float(reaction.rate(potential)), reaction.diffusion / layer
    return reaction.sign * reaction.electrons * FARADAY * area * rate * transport / (rate + transport)


def approach(time: FloatArray, at: FloatArray, levels: FloatArray, t90: float) -> FloatArray:
    """A current (n,) that goes from level to level, each at its time, exponentially with a given t90.

    ``levels`` (k + 1,) begins with the level before the first time.
    """
    result = np.full(time.shape, float(levels[0]))
    for start, before, after in zip(at, levels[:-1], levels[1:], strict=True):
        later = time >= start
        result[later] += (after - before) * (1 - np.exp(-(time[later] - start) * math.log(10) / t90))
    return result


def cottrell(
    time: FloatArray, electrons: int, diffusion: float, concentration: float, area: float
) -> FloatArray:
    """Diffusion current (n,) in A after a potential step."""
    return np.asarray(electrons * FARADAY * area * concentration * np.sqrt(diffusion / (math.pi * time)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Growth:
    """Growth of nuclei that all began at once: i = a·t^-½·(1 − exp(−b·t))."""

    amplitude: float
    """a, A s^½."""
    rate: float
    """b, 1/s."""

    def current(self, time: FloatArray) -> FloatArray:
        """Current (n,) in A; zero at time 0."""
        safe = np.maximum(time, 1e-12)
        return np.asarray(
            np.where(time > 0, self.amplitude * -np.expm1(-self.rate * safe) / np.sqrt(safe), 0.0)
        )

    def charge(self, until: float) -> float:
        """Charge in C up to a time, in closed form."""
        x = self.rate * until
        whole = 2 * math.sqrt(until) * -math.expm1(-x)
        return self.amplitude * (whole + self._rest(until, x))

    def _rest(self, until: float, x: float) -> float:
        # By parts: the integral of t^-½(1 − e^(−bt)) is 2√t(1 − e^(−bt)) − 2b∫√t e^(−bt) dt.
        root = math.sqrt(x)
        inner = 0.5 * math.sqrt(math.pi) * math.erf(root) - root * math.exp(-x)
        return -2 * inner / math.sqrt(self.rate)


def growth_for(charge: float, until: float, peak_time: float) -> Growth:
    """The growth that passes a charge in C until a time, with its largest current at another (s)."""
    rate = 1.25643 / peak_time
    return Growth(amplitude=charge / Growth(amplitude=1.0, rate=rate).charge(until), rate=rate)


@dataclass(frozen=True, slots=True, kw_only=True)
class Nuclei:
    """Concentration of the metal ion (mol/m³) and number of nuclei (1/m²) behind a growth."""

    concentration: float
    density: float


def nuclei(growth: Growth, *, electrons: int, area: float, diffusion: float, molar_volume: float) -> Nuclei:
    """What makes this growth on an area in m², with D in m²/s and a molar volume in m³/mol."""
    concentration = growth.amplitude / (electrons * FARADAY * area) * math.sqrt(math.pi / diffusion)
    k = math.sqrt(8 * math.pi * concentration * molar_volume)
    return Nuclei(concentration=concentration, density=growth.rate / (math.pi * k * diffusion))
