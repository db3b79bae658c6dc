"""A polynomial through points, and whether it says more than a straight line."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from halfcell.statistics.linear import Linear, fit_linear

if TYPE_CHECKING:
    from numpy.typing import ArrayLike


def fit_polynomial(x: ArrayLike, y: ArrayLike, degree: int, *, weights: ArrayLike | None = None) -> Linear:
    """Least squares of ``y`` (n,) on 1, x … x^degree; coefficients in rising powers.

    Raises MethodError for too few points. Source: as ``fit_linear``.
    """
    a = np.asarray(x, dtype=np.float64)
    return fit_linear(np.vander(a, degree + 1, increasing=True), y, weights=weights)
