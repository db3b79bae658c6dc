"""Several groups against one reference, one common variance.

Source: Dunnett 1955, J. Am. Stat. Assoc. 50:1096 (from memory; computed by scipy.stats).
``welch_pairs(..., reference=...)`` does the same without equal variances.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from halfcell.results import Measured
from halfcell.statistics.families import Pair, Pairwise
from halfcell.statistics.groups import as_groups, moments, need_scatter

if TYPE_CHECKING:
    from numpy.typing import ArrayLike


def dunnett(groups: Sequence[ArrayLike], reference: int, level: float = 0.95, seed: int = 0) -> Pairwise:
    """Every group, an (n,) array, less the reference, with simultaneous intervals; the integral is by random lattice (``seed``)."""
    from scipy import stats

    x = as_groups(groups, few=2)
    n, means, variances = moments(x)
    need_scatter(variances)
    others = [i for i in range(len(x)) if i != reference]
    result = stats.dunnett(*(x[i] for i in others), control=x[reference], rng=np.random.default_rng(seed))
    interval = result.confidence_interval(confidence_level=level)
    lows, highs, ps = (np.atleast_1d(v) for v in (interval.low, interval.high, result.pvalue))
    df = float(n.sum() - len(x))
    pooled = float(np.sum(variances * (n - 1))) / df
    pairs = []
    for place, i in enumerate(others):
        u = math.sqrt(pooled * (1 / n[i] + 1 / n[reference]))
        low, high = float(lows[place]), float(highs[place])
        pairs.append(
            Pair(
                first=i,
                second=reference,
                difference=Measured(value=float(means[i] - means[reference]), u=u, df=df),
                p=float(ps[place]),
                low=low,
                high=high,
                different=not low <= 0 <= high,
            )
        )
    return Pairwise(method="Dunnett, against a reference", level=level, pairs=tuple(pairs))
