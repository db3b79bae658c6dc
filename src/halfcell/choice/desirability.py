"""Desirability: how much of what is wanted a value gives, from 0 to 1.

Source: Derringer & Suich 1980, J. Qual. Technol. 12:214 (from memory): one-sided and two-sided
transformations with an exponent, combined by the (weighted) geometric mean.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from halfcell.choice.criteria import Want

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray


def desirability(values: ArrayLike, want: Want) -> FloatArray:
    """Desirability of values in the want's unit; the shape of ``values``, nan stays nan.

    maximise: ((y − low)/(high − low))^shape, 0 below low, 1 above high; minimise mirrors it;
    target rises from low to the target and falls to high.
    """
    y = np.asarray(values, dtype=np.float64)
    if want.aim == "maximise":
        share = (y - want.low) / (want.high - want.low)
    elif want.aim == "minimise":
        share = (want.high - y) / (want.high - want.low)
    else:
        target = want.target if want.target is not None else (want.low + want.high) / 2
        with np.errstate(divide="ignore", invalid="ignore"):
            rising = np.where(
                target > want.low, (y - want.low) / (target - want.low), np.where(y < target, -1.0, 1.0)
            )
            falling = np.where(
                want.high > target, (want.high - y) / (want.high - target), np.where(y > target, -1.0, 1.0)
            )
        share = np.minimum(rising, falling)
    out: FloatArray = np.clip(share, 0.0, 1.0) ** want.shape
    return out


def together(parts: ArrayLike, weights: Sequence[float]) -> FloatArray:
    """Weighted geometric mean over the last axis; 0 where any part with a weight is 0.

    ``parts`` (…, wants) array of desirabilities. With all weights 0 every value is 1.
    """
    d = np.asarray(parts, dtype=np.float64)
    w = np.asarray(weights, dtype=np.float64)
    total = w.sum()
    if total == 0:
        return np.ones(d.shape[:-1])
    use = w > 0
    with np.errstate(divide="ignore"):
        logs = np.log(d[..., use])
    out: FloatArray = np.exp(logs @ (w[use] / total)) if use.any() else np.ones(d.shape[:-1])
    return out
