"""The scatter between electrodes of each candidate, steadied by that of the others.

Three electrodes say little about scatter: with two degrees of freedom the tails of Student's t are so
wide that the probability of being best is understated (of studies where it says 80 %, 89 % are
right; docs/choosing.md). Candidates made alike scatter alike within a factor of about 1.5, so each
variance is drawn towards their common value with the weight of two degrees of freedom.

Source: moderated variances, Smyth 2004, Stat. Appl. Genet. Mol. Biol. 3:3 (from memory), with the
prior degrees of freedom fixed at 2 by calibration here. Only the ranking uses this; intervals and
musts rest on each candidate's own scatter.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from halfcell.choice.estimates import Estimate
from halfcell.results import Measured

PRIOR = 2.0
"""Degrees of freedom that the common scatter counts for."""


def steadied(estimates: Sequence[Estimate]) -> tuple[Measured, ...]:
    """The mean of each candidate with steadied uncertainty, for one finding.

    Relative scatter is pooled where all means are clear of zero and of one sign, else absolute. A
    candidate with one electrode takes the common scatter; what is not a mean over electrodes, or is
    governed by the uncertainty of the single values, stays as it is.
    """
    own = [e for e in estimates if _between(e) and e.s > 0]
    if not own or (len(own) == 1 and all(e.n != 1 for e in estimates)):
        return tuple(e.mean for e in estimates)
    relative = (
        all(abs(e.mean.value) > 2 * e.mean.u for e in own) and len({e.mean.value > 0 for e in own}) == 1
    )
    common = _common([(e.s / _scale(e, relative=relative), e.n - 1) for e in own])
    return tuple(_one(e, common * _scale(e, relative=relative) ** 2) for e in estimates)


def _between(e: Estimate) -> bool:
    """Whether the uncertainty of the mean comes from the scatter between electrodes."""
    return e.n > 1 and e.mean.df == e.n - 1 and math.isfinite(e.s)


def _scale(e: Estimate, *, relative: bool) -> float:
    return abs(e.mean.value) if relative and e.mean.value != 0 else 1.0


def _common(scatter: Sequence[tuple[float, int]]) -> float:
    """The common variance: logarithms averaged, freed of the bias of each number of values."""
    from scipy import special

    logs = [2 * math.log(s) - special.digamma(v / 2) + math.log(v / 2) for s, v in scatter]
    return math.exp(float(np.mean(logs)) + float(special.digamma(PRIOR / 2)) - math.log(PRIOR / 2))


def _one(e: Estimate, common: float) -> Measured:
    mean = e.mean
    if e.n == 1:
        own = mean.u if math.isfinite(mean.u) else 0.0
        return Measured(value=mean.value, u=max(math.sqrt(common), own), df=PRIOR, why=mean.why)
    if not _between(e):
        return mean
    df = e.n - 1
    variance = (PRIOR * common + df * e.s**2) / (PRIOR + df)
    return Measured(value=mean.value, u=math.sqrt(variance / e.n), df=PRIOR + df, why=mean.why)
