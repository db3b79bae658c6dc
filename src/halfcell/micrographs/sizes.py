"""A distribution of particle sizes: means, spread, models, and how many particles are enough."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.micrographs.mixture import TwoSizes, two_sizes
from halfcell.micrographs.volume_mean import volume_mean
from halfcell.results import Interval, Measured, coverage_factor, read_only

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sizes:
    """Diameters of n particles (the unit of the input) and their weights.

    ``mean`` (D[1,0] by number), ``median``, ``spread`` (standard deviation s), ``relative_spread``
    (s over mean), ``quartiles`` (25 and 75 %), ``surface_mean`` D[3,2], ``volume_mean`` D[4,3]
    (ISO 9276-2) and ``volume_by`` whether the "log-normal model" or the "moments" gave it, ``log_median`` and ``log_sigma`` (geometric standard deviation) of the log-normal
    model, ``model`` the better of "log-normal" and "normal" with ``evidence`` the difference of
    AICc in its favour, ``spread_interval`` of s, ``needed_mean`` and ``needed_volume`` the numbers of particles for
    the mean and for D[4,3] to be within ``precision`` at ``level``; ``mixture`` two populations where
    the sizes call for them, else None.
    """

    diameter: FloatArray
    weight: FloatArray
    n: int
    n_effective: float
    mean: Measured
    median: Measured
    spread: Measured
    relative_spread: Measured
    quartiles: FloatArray
    surface_mean: Measured
    volume_mean: Measured
    volume_by: str
    log_median: Measured
    log_sigma: Measured
    model: str
    evidence: float
    mean_interval: Interval
    spread_interval: Interval
    needed_mean: int
    needed_volume: int
    precision: float
    level: float
    mixture: TwoSizes | None


def sizes(
    diameter: ArrayLike, weight: ArrayLike | None = None, *, level: float = 0.95, precision: float = 0.05
) -> Sizes:
    """Describe the diameters of particles.

    Parameters
    ----------
    diameter : (n,) array of equal-area diameters, any length unit.
    weight : (n,) array, 1/P of Miles and Lantuéjoul for particles near the frame; 1 if not given.
    level : confidence level of the intervals and of the numbers needed.
    precision : relative half-width wanted of the mean and of D[4,3].

    Raises
    ------
    MethodError
        With fewer than 3 particles, or a diameter that is not positive.

    Notes
    -----
    Moment means are ratios of weighted sums, D[p,q] = (Σw dᵖ/Σw d^q)^(1/(p−q)), with standard
    uncertainties from the sums' covariance (delta method); D[4,3] as in :func:`volume_mean`. The interval of s is that of Bonett
    (2006, Comput. Stat. Data Anal. 50, 775, from memory), which allows for tails unlike the normal's.
    The number needed for the mean is (k·s/(precision·mean))²; for D[4,3], with σ = ln σ_g, the relative variance
    per particle is σ²(1 + 24.5σ²) where the log-normal model gives it (formula of Masuda and Iinoya for
    σ² as in ISO 13322-1, from memory; it is the variance in :func:`volume_mean`), and e^(16σ²) + e^(9σ²) −
    2e^(12σ²) where the moments do, as of a log-normal distribution.
    """
    d = np.asarray(diameter, dtype=np.float64)
    w = np.ones_like(d) if weight is None else np.asarray(weight, dtype=np.float64)
    if d.size < 3:
        raise MethodError(
            f"{d.size} particles are too few for a size distribution; at least 3 that the frame does not cut."
        )
    if not (np.isfinite(d).all() and (d > 0).all() and np.isfinite(w).all() and (w > 0).all()):
        raise MethodError("Diameters and weights must be positive numbers.")
    n = d.size
    effective = float(w.sum() ** 2 / (w * w).sum())
    mean = float(np.average(d, weights=w))
    s = math.sqrt(float(np.average((d - mean) ** 2, weights=w)) * effective / max(effective - 1, 1e-9))
    df = max(effective - 1, 1.0)
    kurtosis = float(np.average((d - mean) ** 4, weights=w)) / max(s**4, 1e-300)
    u_log_s = math.sqrt(max(kurtosis - (n - 3) / n, 0.1) / max(n - 1, 1)) / 2
    k = coverage_factor(level, df)
    u_mean = s / math.sqrt(effective)
    logs = np.log(d)
    m_log = float(np.average(logs, weights=w))
    s_log = math.sqrt(
        float(np.average((logs - m_log) ** 2, weights=w)) * effective / max(effective - 1, 1e-9)
    )
    relative = s / mean
    u_relative = _u_relative_spread(d, w, mean, s, effective)
    normal, lognormal = _aicc(d, w, mean, s, log=False), _aicc(d, w, m_log, s_log, log=True)
    mixture = two_sizes(d, w)
    volume = volume_mean(d, w, log_normal=lognormal <= normal and mixture is None)
    z = coverage_factor(level, math.inf)
    spike = _variance_of_volume_mean(s_log**2, volume.by)
    return Sizes(
        diameter=read_only(d), weight=read_only(w), n=n, n_effective=effective,
        mean=Measured(value=mean, u=u_mean, df=df),
        median=_median(d, w, effective),
        spread=Measured(value=s, u=s * u_log_s, df=df),
        relative_spread=Measured(value=relative, u=u_relative, df=df),
        quartiles=read_only([weighted_quantile(d, w, 0.25), weighted_quantile(d, w, 0.75)]),
        surface_mean=moment_mean(d, 3, 2, w), volume_mean=volume.value, volume_by=volume.by,
        log_median=Measured(value=math.exp(m_log), u=math.exp(m_log) * s_log / math.sqrt(effective), df=df),
        log_sigma=Measured(value=math.exp(s_log), u=math.exp(s_log) * s_log / math.sqrt(2 * df), df=df),
        model="log-normal" if lognormal <= normal else "normal", evidence=abs(normal - lognormal),
        mean_interval=Interval(low=mean - k * u_mean, high=mean + k * u_mean, level=level, method="Student's t"),
        spread_interval=Interval(
            low=s * math.exp(-z * 2 * u_log_s / 2), high=s * math.exp(z * 2 * u_log_s / 2), level=level, method="Bonett",
        ),
        needed_mean=math.ceil((z * relative / precision) ** 2), needed_volume=math.ceil(min(z * z * spike / precision**2, 1e12)),
        precision=precision, level=level, mixture=mixture,
    )  # fmt: skip


def moment_mean(diameter: ArrayLike, p: int, q: int, weight: ArrayLike | None = None) -> Measured:
    """D[p,q] of ISO 9276-2 with its standard uncertainty by the delta method."""
    d = np.asarray(diameter, dtype=np.float64)
    w = np.ones_like(d) if weight is None else np.asarray(weight, dtype=np.float64)
    over, under = float((w * d**p).sum()), float((w * d**q).sum())
    value = (over / under) ** (1 / (p - q))
    n = float(w.sum() ** 2 / (w * w).sum())
    influence = w * (d**p / over - d**q / under)
    u = value / abs(p - q) * math.sqrt(float((influence**2).sum()) * n / max(n - 1, 1e-9))
    return Measured(value=value, u=u, df=max(n - 1, 1.0))


def _variance_of_volume_mean(square: float, by: str) -> float:
    """Relative variance of D[4,3] per particle; ``square`` is the variance of ln d."""
    if by == "log-normal model":
        return square * (1 + 24.5 * square)
    return math.exp(16 * square) + math.exp(9 * square) - 2 * math.exp(12 * square)


def weighted_quantile(values: ArrayLike, weight: ArrayLike, q: float) -> float:
    """Quantile of weighted values, linear between the middles of their weights."""
    v, w = np.asarray(values, dtype=np.float64), np.asarray(weight, dtype=np.float64)
    order = np.argsort(v)
    v, w = v[order], w[order]
    return float(np.interp(q, (np.cumsum(w) - w / 2) / w.sum(), v))


def _median(d: FloatArray, w: FloatArray, effective: float) -> Measured:
    """Median with the uncertainty from the order statistics one binomial deviation apart."""
    half = 0.5 / math.sqrt(max(effective, 1.0))
    low, high = weighted_quantile(d, w, max(0.5 - half, 0)), weighted_quantile(d, w, min(0.5 + half, 1))
    return Measured(value=weighted_quantile(d, w, 0.5), u=(high - low) / 2, df=max(effective - 1, 1.0))


def _u_relative_spread(d: FloatArray, w: FloatArray, mean: float, s: float, effective: float) -> float:
    """Standard uncertainty of s/mean by the delta method."""
    if s == 0:
        return 0.0
    influence = ((d - mean) ** 2 / s**2 - 1) / 2 - (d - mean) / mean
    return s / mean * math.sqrt(float(np.average(influence**2, weights=w)) / max(effective - 1, 1.0))


def _aicc(d: FloatArray, w: FloatArray, m: float, s: float, *, log: bool) -> float:
    """Corrected information criterion of a (log-)normal model with two parameters."""
    n = len(d)
    scaled = w * n / w.sum()
    s = max(s, 1e-9 * max(abs(m), 1e-300))
    z = ((np.log(d) if log else d) - m) / s
    likelihood = scaled * (
        -0.5 * z * z - math.log(s) - 0.5 * math.log(2 * math.pi) - (np.log(d) if log else 0.0)
    )
    penalty = 4 + 12 / (n - 3) if n > 3 else 4
    return -2 * float(likelihood.sum()) + penalty
