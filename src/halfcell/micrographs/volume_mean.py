"""The volume-weighted mean diameter D[4,3], with an uncertainty that holds although few particles carry the volume."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.results import Measured

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

_DEPART = 2.0
"""Skewness or excess kurtosis of ln d, in standard errors, from which the log-normal model is not relied on."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class VolumeMean:
    """D[4,3] in the unit of the diameters; ``by`` is "log-normal model" or "moments"."""

    value: Measured
    by: str


def volume_mean(
    diameter: ArrayLike, weight: ArrayLike | None = None, *, log_normal: bool = True
) -> VolumeMean:
    """D[4,3] from the log-normal model where the diameters follow one, else from their moments.

    Parameters
    ----------
    diameter : (n,) array, any length unit; at least 3.
    weight : (n,) array, 1 if not given.
    log_normal : whether the model may be used at all (no other fits better, one population).

    Notes
    -----
    Half of the volume may lie in a tenth of the particles: the ratio of sums Σd⁴/Σd³ of a sample that happens to
    lack the largest is too small and looks more certain than it is. Where skewness and kurtosis of ln d
    are within 2 standard errors of the normal's, D[4,3] = exp(m + 7s²/2) with mean m and variance s² of
    ln d (relations of Hatch and Choate 1929, J. Franklin Inst. 207, 369, from memory) uses all particles;
    its variance is D²·(s²/n + 49s⁴/(2(n − 1))). Elsewhere the jackknife of the
    logarithm of the ratio gives the uncertainty. Half the difference between the two is added where both may be
    meant: sampled data cannot tell at once. By simulation (log-normal with σ_g 1.15 to 1.5,
    normal, gamma and two populations) intervals said to hold 95 % hold 92 to 98 % from 150 particles on,
    and 84 to 92 % with 30.
    """
    d = np.asarray(diameter, dtype=np.float64)
    w = np.ones_like(d) if weight is None else np.asarray(weight, dtype=np.float64)
    n = float(w.sum() ** 2 / (w * w).sum())
    df = max(n - 1, 1.0)
    logs = np.log(d)
    m = float(np.average(logs, weights=w))
    variance = float(np.average((logs - m) ** 2, weights=w)) * n / max(n - 1, 1e-9)
    over, under = float((w * d**4).sum()), float((w * d**3).sum())
    ratio, model = over / under, math.exp(m + 3.5 * variance)
    apart = (model - ratio) / 2 if log_normal and n >= 8 else 0.0
    if log_normal and n >= 8 and _like_normal(logs, w, m, n):
        u = model * math.sqrt(variance / n + 3.5**2 * 2 * variance**2 / df)
        return VolumeMean(value=Measured(value=model, u=math.hypot(u, apart), df=df), by="log-normal model")
    left = np.log((over - w * d**4) / (under - w * d**3))
    scatter = float(np.average((left - np.average(left, weights=w)) ** 2, weights=w))
    u = ratio * math.sqrt(scatter * max(n - 1, 1.0))
    return VolumeMean(value=Measured(value=ratio, u=math.hypot(u, apart), df=df), by="moments")


def _like_normal(logs: np.ndarray, w: np.ndarray, m: float, n: float) -> bool:
    s = math.sqrt(max(float(np.average((logs - m) ** 2, weights=w)), 1e-300))
    z = (logs - m) / s
    skewness = float(np.average(z**3, weights=w)) / math.sqrt(6 * (n - 2) / ((n + 1) * (n + 3)))
    kurtosis = (float(np.average(z**4, weights=w)) - 3 * (n - 1) / (n + 1)) / math.sqrt(24 * n * (n - 2) * (n - 3) / ((n + 1) ** 2 * (n + 3) * (n + 5)))  # fmt: skip
    return max(abs(skewness), abs(kurtosis)) < _DEPART
