"""A straight line when x is uncertain as well as y."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Measured

if TYPE_CHECKING:
    from numpy.typing import ArrayLike


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class UnsureLine:
    """The line, with uncertainties from those of x and y alone; ``reduced`` is χ² over its degrees of freedom.

    ``share`` is the largest part of a point's variance that comes from x: (b·u_x)² over the whole.
    """

    slope: Measured
    intercept: Measured
    covariance: float
    reduced: float
    share: float
    iterations: int


def fit_unsure_line(x: ArrayLike, y: ArrayLike, u_x: ArrayLike, u_y: ArrayLike) -> UnsureLine:
    """The best line through ``x`` (n,) ± ``u_x`` and ``y`` (n,) ± ``u_y``, errors independent.

    Raises MethodError for fewer than three points, uncertainties that are not positive in y, or no
    convergence.

    Source: York, Evensen, Martínez and De Basabe Delgado, Am. J. Phys. 72 (2004) 367 (from memory; the
    classical data of Pearson with York's weights are reproduced in the tests).
    """
    a, b = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    ux, uy = (
        np.broadcast_to(np.asarray(u_x, dtype=np.float64), a.shape),
        np.broadcast_to(np.asarray(u_y, dtype=np.float64), a.shape),
    )
    if a.size < 3 or a.shape != b.shape:
        raise MethodError(f"A line needs at least three points; there are {a.size}.")
    if np.any(uy <= 0) or np.any(ux < 0):
        raise MethodError("Each point needs a positive standard uncertainty of y and none below zero of x.")
    slope = float(np.polyfit(a, b, 1)[0])
    steps = 0
    while True:
        steps += 1
        w = 1 / (uy**2 + (slope * ux) ** 2)
        xm, ym = float(np.sum(w * a) / np.sum(w)), float(np.sum(w * b) / np.sum(w))
        u, v = a - xm, b - ym
        beta = w * (u * uy**2 + slope * v * ux**2)
        new = float(np.sum(w * beta * v) / np.sum(w * beta * u))
        done = abs(new - slope) <= 1e-15 * abs(new)
        slope = new
        if done:
            break
        if steps >= 200:
            raise MethodError("The line with uncertain x does not converge; its points hardly fix a slope.")
    intercept = ym - slope * xm
    adjusted = xm + beta
    mean = float(np.sum(w * adjusted) / np.sum(w))
    away = adjusted - mean
    var_slope = 1 / float(np.sum(w * away**2))
    var_intercept = 1 / float(np.sum(w)) + mean**2 * var_slope
    chi2 = float(np.sum(w * (b - intercept - slope * a) ** 2))
    share = float(np.max((slope * ux) ** 2 * w))
    return UnsureLine(
        slope=Measured(value=slope, u=math.sqrt(var_slope)),
        intercept=Measured(value=intercept, u=math.sqrt(var_intercept)),
        covariance=-mean * var_slope,
        reduced=chi2 / (a.size - 2),
        share=share,
        iterations=steps,
    )


def x_matters(slope: float, u_x: ArrayLike, residual_sd: float, *, threshold: float = 0.1) -> bool:
    """Whether uncertain x adds more than ``threshold`` of the scatter's variance at some point.

    The rule: (b·u_x)² > threshold·s². Below it a line with errors in x differs from the ordinary one by
    far less than its uncertainty (common practice, no source).
    """
    return bool(np.max((slope * np.asarray(u_x, dtype=np.float64)) ** 2) > threshold * residual_sd**2)
