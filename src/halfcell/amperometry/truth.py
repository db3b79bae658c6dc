"""Current–time records with known truth, for demonstration and tests."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.constants import FARADAY
from halfcell.results import read_only

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Trace:
    """A simulated record: ``time`` s, ``current`` A, and ``clean``, the current without noise or spikes."""

    time: FloatArray
    current: FloatArray
    clean: FloatArray


def coloured(rng: np.random.Generator, n: int, sd: float, rho: float = 0.0) -> FloatArray:
    """First-order autoregressive noise (n,) of standard deviation ``sd`` and lag-1 correlation ``rho``."""
    from scipy.signal import lfilter

    white = rng.normal(0.0, sd * math.sqrt(1 - rho**2), n)
    white[0] = rng.normal(0.0, sd)
    return np.asarray(lfilter([1.0], [1.0, -rho], white), dtype=np.float64)


def additions_trace(
    rng: np.random.Generator,
    *,
    times: ArrayLike,
    levels: ArrayLike,
    duration: float,
    rate: float = 10.0,
    time_constant: float = 1.5,
    noise: float = 2e-9,
    rho: float = 0.5,
    drift: float = 0.0,
    spike: float = 0.0,
) -> Trace:
    """A stirred record: current levels ``levels`` (k + 1,) A, reached after additions at ``times`` (k,) s.

    Each step rises with first order ``time_constant`` s; ``drift`` in A/s; ``spike`` is the height in A
    of the disturbance of about half a second that an injection makes (its sign is random).
    """
    t = np.arange(0.0, duration, 1.0 / rate)
    level = np.asarray(levels, dtype=np.float64)
    clean = np.full(t.size, level[0]) + drift * t
    disturbed = np.zeros(t.size)
    for at, rise in zip(np.asarray(times, dtype=np.float64), np.diff(level), strict=True):
        since = t - at
        on = since >= 0
        clean[on] += rise * (1 - np.exp(-since[on] / time_constant))
        if spike:
            disturbed[on] += (
                rng.choice([-1.0, 1.0]) * spike * rng.uniform(0.5, 1.0) * np.exp(-since[on] / 0.15)
            )
    return Trace(
        time=read_only(t),
        current=read_only(clean + disturbed + coloured(rng, t.size, noise, rho)),
        clean=read_only(clean),
    )


def step_trace(
    rng: np.random.Generator,
    *,
    duration: float,
    rate: float = 50.0,
    electrons: float = 1.0,
    area: float = 7.07e-6,
    concentration: float = 1.0,
    diffusion: float = 7.6e-10,
    steady: float = 0.0,
    charging: float = 0.0,
    time_constant: float = 0.02,
    noise: float = 1e-9,
    rho: float = 0.0,
) -> Trace:
    """A potential step: Cottrell's current, a steady one, and a charging current ``charging``·exp(−t/τ), A.

    ``area`` m², ``concentration`` mol/m³, ``diffusion`` m²/s. The first sample is half a sample interval
    after the step.
    """
    t = (np.arange(math.floor(duration * rate)) + 0.5) / rate
    diffusive = electrons * FARADAY * area * concentration * np.sqrt(diffusion / (math.pi * t))
    clean = diffusive + steady + charging * np.exp(-t / time_constant)
    return Trace(
        time=read_only(t),
        current=read_only(clean + coloured(rng, t.size, noise, rho)),
        clean=read_only(clean),
    )
