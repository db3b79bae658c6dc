"""Linear least squares by orthogonal decomposition, for any design matrix."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Measured, read_only

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Linear:
    """A linear model fitted by least squares.

    ``covariance`` (p, p) of the coefficients; ``r2`` is uncentred where the model has no constant.
    ``residuals`` (n,) are unweighted, observed minus fitted.
    """

    coefficients: FloatArray
    covariance: FloatArray
    residual_sd: float
    df: int
    n: int
    rss: float
    r2: float
    f: float
    residuals: FloatArray
    leverage: FloatArray
    known: bool = False

    def coefficient(self, index: int) -> Measured:
        """One coefficient with its standard uncertainty."""
        u = math.sqrt(max(self.covariance[index, index], 0.0))
        return Measured(value=float(self.coefficients[index]), u=u, df=math.inf if self.known else self.df)


def fit_linear(
    design: ArrayLike,
    y: ArrayLike,
    *,
    weights: ArrayLike | None = None,
    known: bool = False,
    constant: bool = True,
) -> Linear:
    """Weighted least squares of ``y`` (n,) on the columns of ``design`` (n, p).

    Columns are scaled and decomposed as QR, and the solution is refined once with residuals in
    extended precision. ``weights`` (n,) are proportional to 1/variance; with ``known`` they are
    1/variance and the uncertainties come from them alone. ``constant`` says whether the columns
    span a constant, for r² and F.

    Raises MethodError for fewer than p + 1 points, non-finite numbers, or columns that depend on
    each other.

    Source: Björck, Numerical Methods for Least Squares Problems, SIAM 1996 (from memory).
    """
    a = np.atleast_2d(np.asarray(design, dtype=np.float64))
    b = np.asarray(y, dtype=np.float64)
    n, p = a.shape
    if b.shape != (n,):
        raise MethodError(f"The fit needs one y for each row: {n} rows, y of shape {b.shape}.")
    if n < p + (0 if known else 1):
        raise MethodError(
            f"{n} points cannot fix {p} coefficients and their scatter; at least {p + 1} are needed."
        )
    if not (np.all(np.isfinite(a)) and np.all(np.isfinite(b))):
        raise MethodError("The fit was given a number that is not finite.")
    w = np.ones(n) if weights is None else np.asarray(weights, dtype=np.float64)
    if w.shape != (n,) or not np.all(np.isfinite(w)) or np.any(w <= 0):
        raise MethodError("Weights must be positive and finite, one for each point.")
    root = np.sqrt(w)
    aw, bw = a * root[:, None], b * root
    scale = np.sqrt(np.sum(aw * aw, axis=0))
    if np.any(scale == 0):
        raise MethodError("A column of the fit is zero everywhere.")
    q, r = np.linalg.qr(aw / scale)
    if np.min(np.abs(np.diag(r))) < 1e-14 * np.max(np.abs(np.diag(r))):
        raise MethodError(
            "The columns of the fit depend on each other; there are too few different x values."
        )
    beta = _solve(q, r, bw) / scale
    for _ in range(3):
        rest = np.asarray(
            bw.astype(np.longdouble) - (aw.astype(np.longdouble) @ beta.astype(np.longdouble)),
            dtype=np.float64,
        )
        beta = beta + _solve(q, r, rest) / scale
    rest = np.asarray(
        bw.astype(np.longdouble) - (aw.astype(np.longdouble) @ beta.astype(np.longdouble)), dtype=np.float64
    )
    rss, df = float(rest @ rest), n - p
    s2 = rss / df if df > 0 else math.nan
    inverse = np.linalg.inv(r) / scale[:, None]
    covariance = (inverse @ inverse.T) * (1.0 if known else s2)
    centre = float(np.sum(w * b) / np.sum(w)) if constant else 0.0
    total = float(np.sum(w * (b - centre) ** 2))
    free = p - 1 if constant else p
    explained = total - rss
    f = math.inf if rss == 0 else (explained / free) / (rss / df) if free > 0 and df > 0 else math.nan
    return Linear(
        coefficients=read_only(beta),
        covariance=read_only(covariance),
        residual_sd=math.sqrt(s2) if df > 0 else math.nan,
        df=df,
        n=n,
        rss=rss,
        r2=1.0 - rss / total if total > 0 else math.nan,
        f=f,
        residuals=read_only(rest / root),
        leverage=read_only(np.sum(q * q, axis=1)),
        known=known,
    )


def _solve(q: FloatArray, r: FloatArray, b: FloatArray) -> FloatArray:
    return np.asarray(np.linalg.solve(r, q.T @ b), dtype=np.float64)
