"""Several fields of one electrode taken together, with the scatter between them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Measured

if TYPE_CHECKING:
    from numpy.typing import ArrayLike


def pooled_density(number: ArrayLike, area: ArrayLike) -> Measured:
    """Particles per area from counts in several fields, over-dispersion allowed for.

    ΣN/ΣA with variance φ·ΣN/ΣA²; φ is Pearson's χ² of the fields over its degrees of freedom
    (quasi-Poisson; McCullagh & Nelder 1989, from memory) but not below 1, the counting limit. With
    several fields the degrees of freedom are those of the scatter between them.
    """
    n, a = np.asarray(number, dtype=float), np.asarray(area, dtype=float)
    if not len(n) or (a <= 0).any():
        raise MethodError("A density needs at least one field with an area.")
    total, whole = float(n.sum()), float(a.sum())
    if total == 0:
        return Measured(
            value=0.0,
            u=1.0 / whole,
            why="no particle found; the uncertainty is one particle in the area looked at",
        )
    expected = total * a / whole
    k = len(n)
    if k == 1:
        return Measured(value=total / whole, u=math.sqrt(total) / whole, why="one field: the uncertainty is that of counting alone, without the scatter between fields")  # fmt: skip
    dispersion = float(((n - expected) ** 2 / expected).sum()) / (k - 1)
    u = math.sqrt(max(dispersion, 1.0) * total) / whole
    return Measured(value=total / whole, u=u, df=float(k - 1) if dispersion > 1 else _satterthwaite(k, total))


def _satterthwaite(k: int, total: float) -> float:
    """Degrees of freedom when fields scatter no more than counting: those of the counts."""
    return max(float(k - 1), total - 1)


def pooled_mean(values: Sequence[ArrayLike], weights: Sequence[ArrayLike] | None = None) -> Measured:
    """Mean over the particles of all fields; its uncertainty from the scatter between fields where
    that is larger than between particles (cluster-robust), with fields − 1 degrees of freedom then."""
    v = [np.asarray(x, dtype=float) for x in values]
    w = [np.ones_like(x) for x in v] if weights is None else [np.asarray(x, dtype=float) for x in weights]
    kept = [i for i, x in enumerate(v) if len(x)]
    if not kept:
        raise MethodError("No particle that the frame does not cut; there is no size to state.")
    together, weight = np.concatenate([v[i] for i in kept]), np.concatenate([w[i] for i in kept])
    mean = float(np.average(together, weights=weight))
    effective = float(weight.sum() ** 2 / (weight**2).sum())
    if effective < 2:
        return Measured(value=mean, why="a single particle")
    s = math.sqrt(float(np.average((together - mean) ** 2, weights=weight)) * effective / (effective - 1))
    within = s / math.sqrt(effective)
    k = len(kept)
    if k == 1:
        return Measured(value=mean, u=within, df=effective - 1)
    residual = np.array([float((w[i] * (v[i] - mean)).sum()) for i in kept])
    between = math.sqrt(float((residual**2).sum()) * k / (k - 1)) / float(weight.sum())
    if between > within:
        return Measured(value=mean, u=between, df=float(k - 1))
    return Measured(value=mean, u=within, df=effective - 1)


def field_mean(values: ArrayLike) -> Measured:
    """Mean of one number a field, with the standard error between fields."""
    v = np.asarray(values, dtype=float)
    if not len(v):
        raise MethodError("No field to take a mean of.")
    if len(v) == 1:
        return Measured(value=float(v[0]), why="one field: no scatter between fields to judge by")
    return Measured(value=float(v.mean()), u=float(v.std(ddof=1)) / math.sqrt(len(v)), df=float(len(v) - 1))
