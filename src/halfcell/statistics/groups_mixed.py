"""A straight model with one random factor (batches, electrodes), by restricted likelihood.

y = Xβ + Zb + e, b normal with variance σ_b², e with σ². The ratio of variances is found on the
profile of the restricted likelihood, the degrees of freedom of a contrast by Satterthwaite's
method from the expected information of both variances (also where the random variance is
estimated as zero, so that its uncertainty still counts).

Sources: Patterson & Thompson 1971, Biometrika 58:545; Fai & Cornelius 1996, J. Stat. Comput.
Simul. 54:363 (from memory; estimates checked against a general library, error rates by simulation).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Measured, read_only

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MixedFit:
    """Fixed effects ``beta`` (p,), their covariance (p, p), and both variances.

    ``sensitivity`` (2, p, p) holds the derivatives of the covariance by σ² and σ_b², and
    ``uncertainty`` (2, 2) the covariance of the two estimates: what Satterthwaite's method needs.
    """

    beta: FloatArray
    covariance: FloatArray
    residual_variance: float
    random_variance: float
    sensitivity: FloatArray
    uncertainty: FloatArray
    n: int

    def contrast(self, weights: ArrayLike) -> Measured:
        """A linear combination of the fixed effects with Satterthwaite's degrees of freedom."""
        w = np.asarray(weights, dtype=np.float64)
        variance = float(w @ self.covariance @ w)
        slope = np.array([w @ d @ w for d in self.sensitivity])
        spread = float(slope @ self.uncertainty @ slope)
        df = 2 * variance**2 / spread if spread > 0 else math.inf
        return Measured(
            value=float(w @ self.beta), u=math.sqrt(variance), df=min(max(df, 1.0), self.n - len(self.beta))
        )


def mixed(y: ArrayLike, x: ArrayLike, random: Sequence[object]) -> MixedFit:
    """Fit with a random mean for each level of a factor.

    ``y`` (n,) values, ``x`` (n, p) design of full rank, ``random`` the level of the random factor of
    each value (two or more levels). Raises MethodError where the data cannot give two variances.
    """
    levels = list(dict.fromkeys(random))
    return mixed_columns(y, x, np.array([[float(r == level) for level in levels] for r in random]))


def mixed_columns(y: ArrayLike, x: ArrayLike, z: ArrayLike) -> MixedFit:
    """Fit with independent random coefficients of the columns of ``z`` (n, q), all of one variance.

    ``y`` (n,) values, ``x`` (n, p) design of full rank. Raises MethodError where the data cannot give
    two variances.
    """
    values, design, columns = read_only(y), read_only(x), read_only(z)
    (n, p), q = design.shape, columns.shape[1]
    if q < 2 or np.linalg.matrix_rank(np.hstack([design, columns])) >= n or n - p < 2:
        raise MethodError(f"{n} values with {p} fixed and {q} random effects cannot give two variances.")
    if np.linalg.matrix_rank(design) < p:
        raise MethodError("The fixed effects cannot be told apart (the design has not full rank).")
    zz = columns @ columns.T
    ratio = _best_ratio(values, design, zz)
    inverse, precision, rss = _at(values, design, zz, ratio)
    if rss <= 0:
        raise MethodError("The values have no scatter about the fixed effects.")
    s2 = rss / (n - p)
    covariance = s2 * np.linalg.inv(precision)
    beta = np.linalg.solve(precision, design.T @ inverse @ values)
    sensitivity, uncertainty = _satterthwaite(design, zz, inverse / s2, covariance)
    return MixedFit(
        beta=read_only(beta),
        covariance=read_only(covariance),
        residual_variance=s2,
        random_variance=ratio * s2,
        sensitivity=sensitivity,
        uncertainty=uncertainty,
        n=n,
    )


def _at(y: FloatArray, x: FloatArray, zz: FloatArray, ratio: float) -> tuple[FloatArray, FloatArray, float]:
    """Inverse of V/σ², X'V⁻¹X and the generalised residual sum of squares at a ratio of variances."""
    inverse = np.asarray(np.linalg.inv(np.eye(len(y)) + ratio * zz), dtype=np.float64)
    precision = x.T @ inverse @ x
    residual = y - x @ np.linalg.solve(precision, x.T @ inverse @ y)
    return inverse, precision, float(residual @ inverse @ residual)


def _best_ratio(y: FloatArray, x: FloatArray, zz: FloatArray) -> float:
    from scipy import optimize

    n, p = x.shape
    eigen = np.linalg.eigvalsh(zz)

    def deviance(ratio: float) -> float:
        _, precision, rss = _at(y, x, zz, ratio)
        return float(
            np.sum(np.log1p(ratio * eigen))
            + np.linalg.slogdet(precision)[1]
            + (n - p) * math.log(max(rss, 1e-300))
        )

    grid = np.concatenate([[0.0], np.geomspace(1e-3, 1e4, 29)])
    seen = [deviance(r) for r in grid]
    best = int(np.argmin(seen))
    if best == 0 and deviance(1e-4) >= seen[0]:
        return 0.0
    low, high = grid[max(best - 1, 0)], grid[min(best + 1, len(grid) - 1)]
    return float(
        optimize.minimize_scalar(
            deviance, bounds=(low, high), method="bounded", options={"xatol": 1e-8 * high}
        ).x
    )


def _satterthwaite(
    x: FloatArray, zz: FloatArray, inverse: FloatArray, covariance: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Derivatives of the covariance by both variances, and the covariance of the variances."""
    project = inverse - inverse @ x @ covariance @ x.T @ inverse
    parts = (np.eye(len(x)), zz)
    side = covariance @ x.T @ inverse
    sensitivity = np.stack([side @ d @ side.T for d in parts])
    information = 0.5 * np.array([[np.trace(project @ a @ project @ b) for b in parts] for a in parts])
    return read_only(sensitivity), read_only(np.linalg.pinv(information))
