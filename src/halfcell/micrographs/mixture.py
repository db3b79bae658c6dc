"""Whether sizes come in two populations."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TwoSizes:
    """Two log-normal populations: ``medians``, ``sigmas`` (geometric) and ``shares`` (2,) each, the
    smaller first; ``evidence`` is how much smaller the information criterion (BIC) is than for one."""

    medians: FloatArray
    sigmas: FloatArray
    shares: FloatArray
    evidence: float


def two_sizes(
    diameter: ArrayLike, weight: ArrayLike | None = None, *, needed: float = 10.0
) -> TwoSizes | None:
    """Two log-normal populations where the diameters call for them, else None.

    Expectation–maximisation on ln d from three starts; two populations are told when BIC falls by
    more than ``needed`` (very strong in the words of Kass and Raftery 1995, J. Am. Stat. Assoc. 90,
    773, from memory), both hold at least 7 % of the particles, and the populations are separated
    enough to show two maxima or their medians differ by 1.5 pooled standard deviations.
    """
    d = np.log(np.asarray(diameter, dtype=np.float64))
    n = d.size
    if n < 30:
        return None
    w = np.ones(n) if weight is None else np.asarray(weight, dtype=np.float64)
    w = w * n / w.sum()
    mean = float(np.average(d, weights=w))
    s = math.sqrt(float(np.average((d - mean) ** 2, weights=w)))
    if s < 1e-6:
        return None
    if not _unlike_one(d, w, mean, s):
        return None
    single = -2 * float((w * _log_normal(d, mean, s)).sum()) + 2 * math.log(n)
    if n > 2000:
        # As many quantiles say the same: the shape of the distribution is known well enough.
        order = np.argsort(d)
        share = (np.cumsum(w[order]) - w[order] / 2) / n
        d, w = np.interp((np.arange(2000) + 0.5) / 2000, share, d[order]), np.full(2000, n / 2000)
    best, likelihood = None, -math.inf
    for cut in (0.15, 0.5, 0.85):
        found, value = _expectation_maximisation(d, w, float(np.quantile(d, cut)), 0.05 * s)
        if value > likelihood:
            best, likelihood = found, value
    if best is None:
        return None
    evidence = single - (-2 * likelihood + 5 * math.log(n))
    share, means, deviations = best
    order = np.argsort(means)
    apart = abs(means[1] - means[0]) / math.sqrt(float(np.mean(deviations**2)))
    if evidence < needed or share.min() < 0.07 or apart < 1.5:
        return None
    from halfcell.results import read_only

    return TwoSizes(
        medians=read_only(np.exp(means[order])), sigmas=read_only(np.exp(deviations[order])),
        shares=read_only(share[order]), evidence=evidence,
    )  # fmt: skip


def _unlike_one(d: FloatArray, w: FloatArray, mean: float, s: float) -> bool:
    """Whether skewness or kurtosis leave the normal's by 1.2 standard errors: else two populations cannot win by ten."""
    n, z = len(d), (d - mean) / s
    skewness = float(np.average(z**3, weights=w)) / math.sqrt(6 / n)
    kurtosis = (float(np.average(z**4, weights=w)) - 3) / math.sqrt(24 / n)
    return max(abs(skewness), abs(kurtosis)) > 1.2


def _log_normal(d: FloatArray, mean: float, s: float) -> FloatArray:
    return np.asarray(-0.5 * ((d - mean) / s) ** 2 - math.log(s) - 0.5 * math.log(2 * math.pi))


def _expectation_maximisation(
    d: FloatArray, w: FloatArray, cut: float, smallest: float
) -> tuple[tuple[FloatArray, FloatArray, FloatArray], float]:
    belongs = np.clip((d > cut).astype(float), 0.02, 0.98)
    value = -math.inf
    share, means, deviations = np.zeros(2), np.zeros(2), np.ones(2)
    for _ in range(150):
        parts = np.stack([1 - belongs, belongs]) * w
        total = parts.sum(axis=1)
        share = total / total.sum()
        means = (parts * d).sum(axis=1) / total
        deviations = np.sqrt((parts * (d - means[:, None]) ** 2).sum(axis=1) / total + smallest**2)
        logs = np.stack([math.log(share[k]) + _log_normal(d, means[k], deviations[k]) for k in (0, 1)])
        both = np.logaddexp(logs[0], logs[1])
        now = float((w * both).sum())
        belongs = np.exp(logs[1] - both)
        if now - value < 1e-6 * abs(now):
            value = now
            break
        value = now
    return (share, means, deviations), value
