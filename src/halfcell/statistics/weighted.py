"""Weights of a calibration: by concentration, or by a variance function estimated from replicates."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import read_only

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray

SCHEMES = ("none", "1/x", "1/x2", "replicates")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Weights:
    """Weights (n,) with mean 1, that of a reading at zero, and how they were found."""

    values: FloatArray
    at_zero: float
    scheme: str
    note: str = ""


def weights_for(x: ArrayLike, y: ArrayLike, scheme: str) -> Weights:
    """Weights of points ``x`` (n,), ``y`` (n,) for a scheme.

    "1/x" and "1/x2" weight by a power of the level; levels of zero are weighted as the lowest level above. With
    "replicates" the variance of a reading is a² + (r·x)², fitted to the variances of the replicates by
    their likelihood. Weights are scaled to mean 1, so that the residual standard deviation is that of a
    middling point.

    Raises MethodError for an unknown scheme or too few replicates.

    Source: variance function of Rocke and Lorenzato, Technometrics 37 (1995) 176 (from memory), without its
    logarithmic form; weights 1/x and 1/x² are common practice, no source.
    """
    a = np.asarray(x, dtype=np.float64)
    if scheme == "none":
        return Weights(values=read_only(np.ones(a.size)), at_zero=1.0, scheme=scheme)
    if scheme in {"1/x", "1/x2"}:
        positive = a[a > 0]
        if positive.size == 0:
            raise MethodError(f"Weights {scheme} need levels above zero.")
        power = 1 if scheme == "1/x" else 2
        raw = 1 / np.maximum(a, positive.min()) ** power
        return Weights(
            values=read_only(raw / raw.mean()),
            at_zero=float(1 / positive.min() ** power / raw.mean()),
            scheme=scheme,
        )
    if scheme != "replicates":
        raise MethodError(f"{scheme!r} is no weighting; choose one of {', '.join(SCHEMES)}.")
    constant, relative = variance_function(a, y)
    raw = 1 / (constant**2 + (relative * a) ** 2)
    return Weights(
        values=read_only(raw / raw.mean()),
        at_zero=float(1 / constant**2 / raw.mean()),
        scheme=scheme,
        note=f"standard deviation √({constant:.3g}² + ({relative:.3g}·x)²)",
    )


def variance_function(x: ArrayLike, y: ArrayLike) -> FloatArray:
    """(constant, relative) of the standard deviation √(a² + (r x)²) of replicates ``y`` (n,) at ``x`` (n,).

    Maximum likelihood of the level variances (scaled χ²). Raises MethodError for fewer than three levels with
    replicates or six degrees of freedom.
    """
    from scipy.optimize import minimize

    a, b = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    levels, index, counts = np.unique(a, return_inverse=True, return_counts=True)
    means = np.bincount(index, b) / counts
    squares = np.bincount(index, (b - means[index]) ** 2)
    df = counts - 1
    use = df > 0
    if int(use.sum()) < 3 or int(df.sum()) < 6:
        raise MethodError(
            f"A variance function needs replicates at three levels with six degrees of freedom in all; there are {int(use.sum())} levels and {int(df.sum())}."
        )
    level, square, free = levels[use], squares[use], df[use]
    pooled = float(np.sqrt(square.sum() / free.sum()))
    if pooled == 0:
        raise MethodError("The replicates do not scatter at all; no variance function can be found.")
    top = float(np.max(np.abs(level))) or 1.0

    def loss(p: FloatArray) -> float:
        variance = (np.exp(2 * p[0]) + (np.exp(p[1]) * level) ** 2) / pooled**2
        return float(np.sum(free * np.log(variance) + square / pooled**2 / variance))

    starts = [(np.log(pooled * f), np.log(pooled / top * g)) for f in (0.1, 1.0) for g in (0.05, 1.0)]
    bounds = [
        (np.log(pooled * 1e-4), np.log(pooled * 1e2)),
        (np.log(pooled / top * 1e-6), np.log(pooled / top * 1e2)),
    ]
    best = min(
        (minimize(loss, s, bounds=bounds, method="L-BFGS-B") for s in starts), key=lambda r: float(r.fun)
    )
    return read_only(np.exp(best.x))
