"""Lines of several subjects with random intercepts and slopes, by restricted maximum likelihood."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Measured
from halfcell.statistics.linear import fit_linear

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RandomSlopes:
    """The mean line and the scatter of subjects about it.

    ``slope`` and ``intercept`` are the means, with m − 1 degrees of freedom; ``sd_slope`` and
    ``sd_intercept`` the standard deviations between subjects (independent of each other), ``residual_sd``
    that of single points. ``log_likelihood`` is the restricted one.
    """

    slope: Measured
    intercept: Measured
    sd_slope: float
    sd_intercept: float
    residual_sd: float
    log_likelihood: float
    subjects: int
    n: int


def random_slopes(x: ArrayLike, y: ArrayLike, subject: Sequence[str]) -> RandomSlopes:
    """REML fit of y = (a + a_s) + (b + b_s)·x + e for points ``x`` (n,), ``y`` (n,) of ``subject`` (n,).

    The mean slope's degrees of freedom are the number of subjects less one (containment); with few
    subjects its interval is that of the mean of their own slopes, which is exact for like designs
    (docs/coverage.md compares).

    Raises MethodError for fewer than two subjects or three points a subject.

    Source: Laird and Ware, Biometrics 38 (1982) 963; Pinheiro and Bates 2000 (both from memory); compared with
    statsmodels in the tests.
    """
    from scipy.optimize import minimize

    a, b = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    names = list(dict.fromkeys(subject))
    label = np.asarray(list(subject))
    if len(names) < 2:
        raise MethodError(f"A mixed model needs at least two subjects; there is {len(names)}.")
    sx, sy = float(np.max(np.abs(a))) or 1.0, float(np.max(np.abs(b))) or 1.0
    own, inverse_squares, within = [], [], 0.0
    for name in names:
        chosen = label == name
        if int(chosen.sum()) < 3 or np.unique(a[chosen]).size < 2:
            raise MethodError(
                f"Each subject needs at least three points at two levels; {name} has {int(chosen.sum())}."
            )
        design = np.column_stack([np.ones(int(chosen.sum())), a[chosen] / sx])
        line = fit_linear(design, b[chosen] / sy)
        own.append(line.coefficients)
        inverse_squares.append(np.linalg.inv(design.T @ design))
        within += line.rss
    blocks = _Blocks(own=np.array(own), inverse_squares=np.array(inverse_squares), within=within)
    n = a.size
    grid = [np.array([p, q]) for p in (-4.0, -1.0, 0.5, 2.0, 4.0) for q in (-4.0, -1.0, 0.5, 2.0, 4.0)]
    start = min(grid, key=lambda p: _deviance(p, blocks, n)[0])

    def loss(p: FloatArray) -> float:
        return _deviance(p, blocks, n)[0]

    best = minimize(
        loss, start, method="Nelder-Mead", options={"xatol": 1e-6, "fatol": 1e-9, "maxiter": 1000}
    )
    deviance, beta, inverse, s2 = _deviance(best.x, blocks, n)
    ratios = np.exp(np.clip(best.x, -12, 12))
    u = np.sqrt(np.diag(inverse) * s2)
    df = len(names) - 1
    shift = (n - 2) * math.log(sy) - math.log(sx)
    return RandomSlopes(
        slope=Measured(value=float(beta[1]) * sy / sx, u=float(u[1]) * sy / sx, df=df),
        intercept=Measured(value=float(beta[0]) * sy, u=float(u[0]) * sy, df=df),
        sd_slope=math.sqrt(s2) * float(ratios[1]) * sy / sx,
        sd_intercept=math.sqrt(s2) * float(ratios[0]) * sy,
        residual_sd=math.sqrt(s2) * sy,
        log_likelihood=-deviance / 2 - shift,
        subjects=len(names),
        n=n,
    )


@dataclass(frozen=True, slots=True)
class _Blocks:
    """Each subject's own line (m, 2), the inverse of its squares (m, 2, 2), and the residual sum of all."""

    own: FloatArray
    inverse_squares: FloatArray
    within: float


def _deviance(p: FloatArray, blocks: _Blocks, n: int) -> tuple[float, FloatArray, FloatArray, float]:
    """−2 log restricted likelihood with σ² profiled out, and the fixed effects at it.

    With y = X b_s + e_s, the quadratic form is Σ e'e + Σ (b_s − β)'W_s(b_s − β), W_s = ((X'X)⁻¹ + D)⁻¹, and
    |V_s| = |(X'X)⁻¹ + D|·|X'X|.
    """
    ratios = np.exp(np.clip(np.asarray(p), -12, 12))
    spread = blocks.inverse_squares + np.diag(ratios**2)
    w = np.linalg.inv(spread)
    information = w.sum(axis=0)
    beta = np.linalg.solve(information, np.einsum("sij,sj->i", w, blocks.own))
    away = blocks.own - beta
    rss = blocks.within + float(np.einsum("si,sij,sj->", away, w, away))
    s2 = max(rss / (n - 2), 1e-300)
    logs = float(np.sum(np.linalg.slogdet(spread)[1] - np.linalg.slogdet(blocks.inverse_squares)[1]))
    determinant = float(np.linalg.slogdet(information)[1])
    deviance = (n - 2) * (math.log(2 * math.pi * s2) + 1) + logs + determinant
    return (
        deviance,
        np.asarray(beta, dtype=np.float64),
        np.asarray(np.linalg.inv(information), dtype=np.float64),
        s2,
    )
