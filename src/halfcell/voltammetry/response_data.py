"""A branch made ready for the models of a response."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.constants import thermal_voltage
from halfcell.errors import MethodError
from halfcell.results import read_only
from halfcell.signals.branch import binned

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray

BINS = 128


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Data:
    """A branch binned and scaled, the response upwards."""

    x: FloatArray  # distance along the scan in RT/F
    y: FloatArray  # current, response upwards, scaled to unit spread
    scale: float
    e: FloatArray
    unit: float  # dE/dx, signed
    sign: int
    low: float
    high: float
    blank: FloatArray | None
    hold: float  # weight of the statement that no share of the blank is left


def prepare(
    potential: ArrayLike,
    current: ArrayLike,
    sign: int,
    temperature: float,
    window: tuple[float, float] | None,
    blank: ArrayLike | None,
    repeatability: float,
    sigma: float,
) -> Data:
    """The branch binned, in RT/F along the scan and scaled.

    ``potential`` (n,) array, V; ``current`` and ``blank`` (n,) arrays, A; ``window`` V. Raises MethodError for a
    branch that is too short to judge.
    """
    e, i = np.asarray(potential, float), np.asarray(current, float)
    good = np.isfinite(e) & np.isfinite(i)
    e, i = e[good], i[good]
    if e.size < 30:
        raise MethodError(
            f"Telling a response from noise needs at least 30 samples on the branch; there are {e.size}."
        )
    unit = thermal_voltage(temperature) * (1 if e[-1] > e[0] else -1)
    if abs(e[-1] - e[0]) < 12 * abs(unit):
        raise MethodError(
            f"The branch covers {abs(e[-1] - e[0]):.3f} V; telling a wave from a peak needs {12 * abs(unit):.2f} V."
        )
    eb, ib, block = binned(e, sign * i, BINS)
    x = (eb - eb[0]) / unit
    scale = float(np.std(ib)) or 1.0
    low, high = float(x[0]) + 2.0, float(x[-1]) + 6.0
    if window is not None:
        ends = sorted((w - eb[0]) / unit for w in window)
        low, high = max(low, ends[0]), min(high, ends[1])
    if high <= low:
        raise MethodError(
            f"The window for the response, {window}, leaves nothing of a branch from {e[0]:.3f} to {e[-1]:.3f} V."
        )
    left, hold = None, 0.0
    if blank is not None:
        left = binned(e, sign * np.asarray(blank, float)[good], BINS)[1] / scale
        left = read_only(left - left.mean())
        hold = max(sigma / math.sqrt(block) / scale, 1e-4 * float(np.std(left)) + 1e-12) / repeatability
    return Data(
        x=read_only(x),
        y=read_only(ib / scale),
        scale=scale,
        e=eb,
        unit=unit,
        sign=sign,
        low=low,
        high=high,
        blank=left,
        hold=hold,
    )
