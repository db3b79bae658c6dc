"""Resampling of electrodes: the ratio of two groups' typical values, as for limits of detection.

Source: Efron 1987, J. Am. Stat. Assoc. 82:171 (bias-corrected and accelerated; from memory), on the
logarithm of the values. With fewer than about five electrodes a group the interval is too narrow
(docs/choosing.md), because so few values cannot show their tails.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Interval
from halfcell.statistics.groups import as_groups

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class BootstrapRatio:
    """Ratio of geometric means, first over second, with its interval; ``count`` resamples."""

    ratio: float
    interval: Interval
    count: int


def bootstrap_ratio(
    first: ArrayLike, second: ArrayLike, rng: np.random.Generator, *, level: float = 0.95, count: int = 4000
) -> BootstrapRatio:
    """Electrodes of each group resampled with replacement.

    Raises MethodError for groups of fewer than 3 values and for values that are not positive.
    """
    a, b = as_groups([first, second], least=3)
    if min(a.min(), b.min()) <= 0:
        raise MethodError(
            f"A ratio of geometric means needs positive values; the smallest is {min(a.min(), b.min()):g}."
        )
    x, y = np.log(a), np.log(b)
    seen = float(x.mean() - y.mean())
    draws = _means(x, rng, count) - _means(y, rng, count)
    low, high = np.exp(_bca(draws, seen, np.concatenate([_left_out(x), -_left_out(y)]), level))
    interval = Interval(low=float(low), high=float(high), level=level, method="bootstrap of electrodes")
    return BootstrapRatio(ratio=math.exp(seen), interval=interval, count=count)


def _means(x: FloatArray, rng: np.random.Generator, count: int) -> FloatArray:
    means: FloatArray = x[rng.integers(0, len(x), (count, len(x)))].mean(axis=1)
    return means


def _left_out(x: FloatArray) -> FloatArray:
    """Influence of each value on the mean, from leaving it out."""
    influence: FloatArray = (x - x.mean()) / (len(x) - 1)
    return influence


def _bca(draws: FloatArray, seen: float, influence: FloatArray, level: float) -> FloatArray:
    from scipy import special

    below = float(np.clip(np.mean(draws < seen) + 0.5 * np.mean(draws == seen), 1e-4, 1 - 1e-4))
    z0 = special.ndtri(below)
    squares = float(np.sum(influence**2))
    a = float(np.sum(influence**3)) / (6 * squares**1.5) if squares > 0 else 0.0
    z = z0 + special.ndtri([(1 - level) / 2, (1 + level) / 2])
    ends: FloatArray = np.quantile(draws, special.ndtr(z0 + z / (1 - a * z)))
    return ends
