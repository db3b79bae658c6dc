"""Dimensionless shapes of responses: the wave, and the peaks that diffusion and a bound layer give.

All take xi, the potential in units of its own width along the scan (nF(E - E1/2)/RT for a Nernstian
couple), rising with time. Heights: wave 1, reversible peak 0.4463, bound layer 1/4.
"""

from __future__ import annotations

import functools
import math
from typing import TYPE_CHECKING

import numpy as np

from halfcell.results import read_only

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray

REVERSIBLE_PEAK = 0.4462946948
"""Peak of the reversible current function (Nicholson & Shain, Anal. Chem. 1964, 36, 706)."""
REVERSIBLE_PEAK_AT = 1.108949233
"""xi of that peak."""
REVERSIBLE_HALF_WIDTH = 2.20233
"""Peak minus half-peak potential, in RT/nF."""
IRREVERSIBLE_PEAK = 0.495763
"""Peak of the totally irreversible current function (Nicholson & Shain 1964; printed 0.4958)."""
IRREVERSIBLE_HALF_WIDTH = 1.85724
"""Peak minus half-peak potential, in RT/(alpha n F)."""
BOUND_WIDTH = 3.52549435
"""Full width at half height of the bound layer's peak, in RT/nF (90.6/n mV at 25 °C)."""


def wave(xi: ArrayLike) -> FloatArray:
    """1/(1 + exp(-xi)), (n,) array: the steady-state wave of a Nernstian couple (Nernst's equation)."""
    x = np.clip(np.asarray(xi, float), -500, 500)
    return np.asarray(1 / (1 + np.exp(-x)), float)


def bound_layer(xi: ArrayLike) -> FloatArray:
    """exp(xi)/(1 + exp(xi))^2, (n,) array: a Nernstian couple bound to the surface (derived from Nernst's equation)."""
    x = np.clip(np.asarray(xi, float), -500, 500)
    return np.asarray(0.25 / np.cosh(0.5 * x) ** 2, float)


def reversible_exact(xi: ArrayLike) -> FloatArray:
    """pi^1/2 chi of a reversible couple diffusing to a plane, to better than 1e-10.

    The semi-derivative of the wave, (2/pi^1/2) times the integral of its derivative at
    xi - s^2 over s from 0 to infinity; the integrand is even and analytic, so the trapezoidal
    rule converges exponentially. Nicholson & Shain 1964.
    """
    x = np.atleast_1d(np.asarray(xi, float))
    h = 0.02
    top = np.sqrt(np.maximum(x, 0) + 40.0).max()
    s = np.arange(0, top + h, h)
    weight = np.full(s.size, h)
    weight[0] = h / 2
    out = (bound_layer(x[:, None] - s[None, :] ** 2) @ weight) * 2 / math.sqrt(math.pi)
    return np.asarray(out, float)


@functools.cache
def _table() -> tuple[FloatArray, FloatArray]:
    xi = np.concatenate([np.arange(-14, 12, 0.02), np.arange(12, 80.01, 0.2)])
    return read_only(xi), read_only(reversible_exact(xi))


def reversible(xi: ArrayLike) -> FloatArray:
    """``reversible_exact`` of ``xi`` (n,) array from a table, to about 1e-5; (pi xi)^-1/2 beyond 80, exp(xi) below -14."""
    x = np.asarray(xi, float)
    at, value = _table()
    out = np.interp(x, at, value)
    far = x > at[-1]
    if np.any(far):
        out = np.where(far, 1 / np.sqrt(math.pi * np.maximum(x, 1.0)), out)
    low = x < at[0]
    if np.any(low):
        out = np.where(low, np.exp(np.minimum(x, 0.0)), out)
    return np.asarray(out, float)


def irreversible(xi: ArrayLike) -> FloatArray:
    """pi^1/2 chi of a totally irreversible couple, its maximum 0.4958 at xi = 0; xi in units of RT/(alpha F).

    From a table made with the integral equation of signals.truth, to about 2e-4; exp below it, (pi xi)^-1/2 beyond.
    """
    x = np.asarray(xi, float)
    at, value = _irreversible_table()
    out = np.interp(x, at, value)
    low, far = x < at[0], x > at[-1]
    out = np.where(low, value[0] * np.exp(np.where(low, x - at[0], 0.0)), out)
    return np.asarray(np.where(far, value[-1] * np.sqrt(at[-1] / np.where(far, x, 1.0)), out), float)


@functools.cache
def _irreversible_table() -> tuple[FloatArray, FloatArray]:
    from halfcell.constants import thermal_voltage
    from halfcell.signals.truth import diffusing

    f = 1 / thermal_voltage()
    x = np.arange(-12, 60, 0.05)
    t = x / f  # 1 V/s, alpha 1; far above the formal potential, so that nothing comes back
    i = diffusing(
        t, t, formal=-2.0, amount=1.0, rate_constant=math.sqrt(math.pi * f) * math.exp(-2.0 * f), alpha=1.0
    ) / math.sqrt(f)
    top = int(np.argmax(i))
    bend = i[top - 1] - 2 * i[top] + i[top + 1]
    place = x[top] + 0.05 * 0.5 * (i[top - 1] - i[top + 1]) / bend
    return read_only(x[1:] - place), read_only(i[1:])
