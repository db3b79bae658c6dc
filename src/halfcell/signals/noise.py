"""Noise of a record: its size and its correlation from sample to sample."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Noise:
    """Standard deviation of the noise (in the unit of the data) and its correlation.

    ``rho`` is the first autocorrelation of an AR(1) process; ``n`` the samples used.
    """

    sigma: float
    rho: float
    n: int

    def of_mean(self, samples: float) -> float:
        """Standard uncertainty of the mean of that many successive samples, n_eff = n(1-rho)/(1+rho)."""
        return self.sigma / math.sqrt(max(effective_size(samples, self.rho), 1.0))


def effective_size(n: float, rho: float) -> float:
    """Number of independent samples worth n correlated ones, n(1-rho)/(1+rho) (AR(1), large n; Bayley and Hammersley 1946, from memory)."""
    return n * (1 - rho) / (1 + rho)


def record_noise(values: ArrayLike, *, width: int | None = None) -> Noise:
    """Noise about a smooth curve, robust against peaks and spikes.

    Parameters
    ----------
    values : (n,) array
        Evenly sampled.
    width : int, optional
        Samples of the moving cubic that stands for the curve; default n/12, between 7 and 101.

    Notes
    -----
    Residuals from a moving cubic (Savitzky–Golay): sigma is 1.4826 times their median absolute
    deviation (normal consistency), rho from their robust first autocorrelation; both are corrected for
    what the filter takes out of AR(1) noise (common practice, no source), rho being looked for between 0 and 0.95. Raises MethodError for fewer than 12 samples.
    """
    y = np.asarray(values, float)
    if y.size < 12:
        raise MethodError(f"The noise of a record needs at least 12 samples; there are {y.size}.")
    from scipy.signal import savgol_filter

    m = width or min(max(y.size // 12, 7), 101)
    m = min(m | 1, (y.size - 1) | 1 if (y.size - 1) % 2 else y.size - 2)
    # Where the ends are left out it does not matter what the filter does there; fits there take long.
    long = y.size > 3 * m
    rest = y - savgol_filter(y, m, 3, mode="constant" if long else "interp")
    inner = rest[m // 2 : -(m // 2)] if long else rest
    inner = inner - np.median(inner)
    scale = 1.4826 * float(np.median(np.abs(inner)))
    rhos, share, ratio = _filtered(m)
    rho = float(np.interp(_pulled_in(inner, scale), ratio, rhos))
    sigma = scale / math.sqrt(float(np.interp(rho, rhos, share)))
    return Noise(sigma=sigma, rho=rho, n=int(y.size))


@functools.cache
def _filtered(m: int) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Correlations 0 to 0.95, and what the residuals of the filter keep of such noise: variance, lag-one correlation."""
    from scipy.signal import savgol_coeffs

    high = -np.asarray(savgol_coeffs(m, 3), float)
    high[m // 2] += 1
    own = np.correlate(high, high, mode="full")
    lags = np.abs(np.arange(-(m - 1), m))
    shifted = np.abs(np.arange(-(m - 1), m) + 1)
    rhos = np.linspace(0, 0.95, 39)
    powers = rhos[:, None]
    variance = (powers**lags) @ own
    ratio = np.maximum.accumulate(((powers**shifted) @ own) / variance)
    return rhos, variance, ratio


def first_autocorrelation(residuals: ArrayLike) -> float:
    """Lag-one autocorrelation of residuals (n,), values beyond four robust deviations pulled in; 0 for none."""
    r = np.asarray(residuals, float)
    if r.size < 4:
        return 0.0
    r = r - np.median(r)
    return _pulled_in(r, 1.4826 * float(np.median(np.abs(r))))


def _pulled_in(r: NDArray[np.float64], scale: float) -> float:
    """Lag-one autocorrelation of values about zero with a robust standard deviation ``scale``."""
    if scale > 0:
        r = np.clip(r, -4 * scale, 4 * scale)
    below = float(r @ r)
    return float(r[1:] @ r[:-1]) / below if below > 0 else 0.0


def correlated(n: int, sigma: float, rho: float, rng: np.random.Generator) -> NDArray[np.float64]:
    """(n,) AR(1) noise of standard deviation sigma and lag-one correlation rho."""
    from scipy.signal import lfilter

    white = rng.standard_normal(n) * sigma * math.sqrt(1 - rho * rho)
    if n:
        white[0] /= math.sqrt(1 - rho * rho)
    return np.asarray(lfilter([1.0], [1.0, -rho], white), float)
