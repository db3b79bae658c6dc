"""The mean of readings that resemble their neighbours: an honest standard uncertainty."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Measured

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SteadyMean:
    """A robust mean of ``n`` readings with lag-1 correlation ``rho``.

    ``n_eff`` = n(1−ρ)/(1+ρ); ``sd`` is the scatter of single readings; ``rejected`` readings lay more
    than the stated number of robust standard deviations from the median line.
    """

    mean: Measured
    slope: Measured
    sd: float
    rho: float
    n: int
    n_eff: float
    rejected: int


def lag_one(residuals: FloatArray) -> float:
    """Lag-1 autocorrelation of residuals about a line, corrected for its bias in short records.

    Source: E(r) ≈ ρ − (2 + 4ρ)/n, after Marriott and Pope, Biometrika 41 (1954) 390 (from memory; they
    treat a mean, the term for a line is checked by simulation in the tests).
    """
    n = residuals.size
    total = float(residuals @ residuals)
    if n < 8 or total == 0:
        return 0.0
    r = float(residuals[1:] @ residuals[:-1]) / total
    return float(np.clip((r + 2 / n) / (1 - 4 / n), 0.0, 0.995))


def steady_mean(time: ArrayLike, values: ArrayLike, *, reject: float = 5.0) -> SteadyMean:
    """Mean and drift of ``values`` (n,) at ``time`` (n,) s that scatter with memory.

    Readings further than ``reject`` robust standard deviations (1.4826·MAD) from the median line are
    left out and counted. The standard uncertainty is s/√n_eff with n_eff − 2 degrees of freedom.

    Raises MethodError for fewer than eight readings.

    Source: n_eff for first-order autoregressive noise, Bayley and Hammersley, J. R. Stat. Soc. Suppl.
    8 (1946) 184 (from memory); Huber, Robust Statistics (from memory).
    """
    t, v = np.asarray(time, dtype=np.float64), np.asarray(values, dtype=np.float64)
    if t.size < 8 or t.shape != v.shape:
        raise MethodError(f"A steady current needs at least 8 readings; there are {v.size}.")
    keep = _inside(t, v, reject)
    tk, vk = t[keep], v[keep]
    n = tk.size
    mean = float(vk.mean())
    centred = tk - tk.mean()
    sxx = float(centred @ centred)
    slope = float(centred @ (vk - mean) / sxx) if sxx > 0 else 0.0
    residuals = vk - mean - slope * centred
    rho = lag_one(residuals)
    n_eff = float(max(n * (1 - rho) / (1 + rho), 3.0))
    # With memory the mean and the line take up more of the scatter than two of n readings.
    sd = math.sqrt(float(residuals @ residuals) / n / (1 - 2 / n_eff))
    df = max(n_eff - 2, 1.0)
    return SteadyMean(
        mean=Measured(value=mean, u=sd / math.sqrt(n_eff), df=df),
        slope=Measured(value=slope, u=sd * math.sqrt(n / n_eff / sxx) if sxx > 0 else math.nan, df=df),
        sd=sd,
        rho=rho,
        n=n,
        n_eff=n_eff,
        rejected=int(t.size - n),
    )


def _inside(t: FloatArray, v: FloatArray, reject: float) -> NDArray[np.bool_]:
    halves = np.array_split(np.argsort(t, kind="stable"), 2)
    (t1, v1), (t2, v2) = ((np.median(t[h]), np.median(v[h])) for h in halves)
    trend = (v2 - v1) / (t2 - t1) if t2 > t1 else 0.0
    away = v - trend * t
    away = away - np.median(away)
    mad = 1.4826 * float(np.median(np.abs(away)))
    if mad == 0:
        return np.ones(t.size, dtype=bool)
    keep = np.asarray(np.abs(away) <= reject * mad)
    return keep if int(keep.sum()) >= 8 else np.ones(t.size, dtype=bool)
