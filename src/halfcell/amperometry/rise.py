"""How fast a current settles after an addition."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.results import Measured, unknown
from halfcell.statistics.autocorrelation import lag_one

if TYPE_CHECKING:
    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rise:
    """``t90`` s: from the addition to nine tenths of the step; ``onset`` s: when the rise began."""

    t90: Measured
    onset: float


def fit_rise(
    time: FloatArray, current: FloatArray, *, at: float, before: float, after: float, noise: float
) -> Rise:
    """First-order rise from ``before`` to ``after`` A after an addition near ``at`` s.

    The time constant and the moment of the addition (within 3 s) are fitted with a loss that outvotes the
    disturbance of the injection; t90 = τ·ln 10. Its uncertainty is widened for correlated noise.

    Source: common practice, no source (first-order mixing); t90 as usual in sensor work.
    """
    from scipy.optimize import least_squares

    step = after - before
    if abs(step) < 5 * noise:
        return Rise(t90=unknown("the step is too small against the noise for its speed"), onset=at)
    stride = max(1, time.size // 400)
    t, y = time[::stride] - at, (current[::stride] - before) / step
    if t.size < 12:
        return Rise(t90=unknown("too few samples in the step"), onset=at)
    spacing = float(np.median(np.diff(t)))
    longest = float(t[-1])

    def model(p: FloatArray) -> FloatArray:
        since = np.maximum(t - p[1], 0.0)
        return np.asarray(1 - np.exp(-since / p[0]) - y)

    def slopes(p: FloatArray) -> FloatArray:
        since = np.maximum(t - p[1], 0.0)
        left = np.exp(-since / p[0]) / p[0]
        return np.column_stack([-left * since / p[0], -left * (since > 0)])

    scale = max(3 * noise / abs(step), 1e-3)
    fit = least_squares(
        model,
        [min(2.0, longest / 4), 0.0],
        bounds=([spacing / 5, -3.0], [longest, 3.0]),
        jac=slopes,
        loss="cauchy",
        f_scale=scale,
        x_scale=[1.0, 1.0],
        ftol=1e-6,
        xtol=1e-6,
    )
    tau, onset = float(fit.x[0]), float(fit.x[1])
    residuals = model(fit.x)
    inside = np.abs(residuals) < 5 * scale
    if int(inside.sum()) < 8:
        return Rise(t90=unknown("the step does not rise as a mixed cell does"), onset=at + onset)
    rho = lag_one(residuals[inside])
    s2 = float(np.mean(residuals[inside] ** 2)) * (1 + rho) / (1 - rho)
    try:
        jacobian = np.asarray(fit.jac, dtype=np.float64)
        u = math.sqrt(s2 * float(np.linalg.inv(jacobian.T @ jacobian)[0, 0]))
    except np.linalg.LinAlgError:
        u = math.nan
    df = max(float(inside.sum()) * (1 - rho) / (1 + rho) - 2, 1.0)
    return Rise(t90=Measured(value=tau * math.log(10), u=u * math.log(10), df=df), onset=at + onset)
