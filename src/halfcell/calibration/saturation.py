"""A response that levels off because sites fill up: i = a + i_max·c/(K + c)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Interval, Measured
from halfcell.statistics.curve import Curve, fit_curve
from halfcell.statistics.noncentral import signal_interval

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Saturation:
    """``sensitivity`` is the slope at no analyte, i_max/K, with the covariance of the two in its uncertainty.

    ``maximum`` A, ``half`` mol/m³ (K), ``background`` A; ``detection`` is 3.3·s over the initial
    sensitivity with its interval.
    """

    sensitivity: Measured
    maximum: Measured
    half: Measured
    background: Measured
    detection: Measured
    detection_interval: Interval
    curve: Curve


def saturating(c: FloatArray, p: FloatArray) -> FloatArray:
    """a + S·c/(1 + κ·c) with p = (a, S, κ = 1/K): κ = 0 is the straight line."""
    return np.asarray(p[0] + p[1] * c / (1 + p[2] * c))


def fit_saturation(
    x: ArrayLike, y: ArrayLike, *, weights: ArrayLike | None = None, level: float = 0.95
) -> Saturation:
    """The site-limited curve through currents ``y`` (n,) A at ``x`` (n,) mol/m³.

    Fitted as background, initial sensitivity S and κ = 1/K, which are less entangled than i_max and K and
    hold the straight line as κ = 0. Raises MethodError for fewer than five levels, or a response that does
    not level off (κ not above zero by its own uncertainty).

    Source: Langmuir, J. Am. Chem. Soc. 40 (1918) 1361 for the form; as a calibration curve common practice.
    """
    a, b = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    if np.unique(a).size < 5:
        raise MethodError(f"A curve that levels off needs five levels; there are {np.unique(a).size}.")
    top = float(a.max())
    fit = fit_curve(saturating, a, b, _start(a, b, top), weights=weights)
    kappa = fit.parameter(2)
    if not (kappa.value > 2 * kappa.u > 0):
        raise MethodError(
            f"The response does not level off within the levels measured (1/K = {kappa.value:.3g} ± {kappa.u:.2g})."
        )
    s = fit.parameter(1)
    ratio = s.value / kappa.value
    g = np.array([1 / kappa.value, -ratio / kappa.value])
    u_max = math.sqrt(max(float(g @ fit.covariance[1:, 1:] @ g), 0.0))
    lod, interval = _detection(fit, s, level)
    return Saturation(
        sensitivity=s,
        maximum=Measured(value=ratio, u=u_max, df=fit.df),
        half=Measured(value=1 / kappa.value, u=kappa.u / kappa.value**2, df=fit.df),
        background=fit.parameter(0),
        detection=lod,
        detection_interval=interval,
        curve=fit,
    )


def _start(a: FloatArray, b: FloatArray, top: float) -> list[float]:
    """Background and slope are linear once κ is given: the best of a row of κ."""
    found = []
    for kappa in np.geomspace(0.02, 50, 16) / top:
        design = np.column_stack([np.ones(a.size), a / (1 + kappa * a)])
        coefficients, rest, _, _ = np.linalg.lstsq(design, b, rcond=None)
        found.append((float(rest[0]) if rest.size else math.inf, float(kappa), coefficients))
    _, kappa, (base, slope) = min(found, key=lambda row: row[0])
    return [float(base), float(slope), kappa]


def _detection(fit: Curve, s: Measured, level: float) -> tuple[Measured, Interval]:
    from halfcell.statistics.noncentral import symmetric_u

    value = 3.3 * fit.residual_sd / abs(s.value)
    delta = signal_interval(abs(s.value) / s.u, fit.df, level=level)
    scale = value * abs(s.value) / s.u
    interval = Interval(
        low=scale / delta.high,
        high=scale / delta.low if delta.low > 0 else math.inf,
        level=level,
        method="noncentral t, first order",
    )
    return Measured(value=value, u=symmetric_u(value, interval, fit.df), df=fit.df), interval
