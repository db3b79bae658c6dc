"""Nonlinear least squares with standard uncertainties."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Measured, read_only

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray

    Model = Callable[[FloatArray, FloatArray], FloatArray]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Curve:
    """A curve fitted to points: ``parameters`` (p,), their ``covariance``, and the fit's health.

    ``at_bound`` are the indices of parameters that ended at a bound; ``correlated`` pairs of them whose
    correlation exceeds 0.98 in size.
    """

    parameters: FloatArray
    covariance: FloatArray
    residual_sd: float
    rss: float
    df: int
    n: int
    residuals: FloatArray
    converged: bool
    at_bound: tuple[int, ...]
    correlated: tuple[tuple[int, int], ...]

    def parameter(self, index: int) -> Measured:
        """One parameter with its (first-order) standard uncertainty."""
        why = "the fit ended at a bound of this parameter" if index in self.at_bound else ""
        u = math.nan if why else math.sqrt(max(self.covariance[index, index], 0.0))
        return Measured(value=float(self.parameters[index]), u=u, df=self.df, why=why)


def fit_curve(
    model: Model,
    x: ArrayLike,
    y: ArrayLike,
    start: ArrayLike,
    *,
    bounds: tuple[ArrayLike, ArrayLike] | None = None,
    weights: ArrayLike | None = None,
) -> Curve:
    """Least squares of ``y`` (n,) by ``model(x, parameters)`` from ``start`` (p,).

    Levenberg–Marquardt (trust region with bounds) at tolerances near rounding, then a check that the
    gradient is gone. Raises MethodError for too few points or a fit that does not converge.

    Source: Moré 1978 as in MINPACK, through scipy (from memory); held to the NIST nonlinear reference sets.
    """
    from scipy.optimize import least_squares

    a, b, p0 = (np.asarray(v, dtype=np.float64) for v in (x, y, start))
    if b.size <= p0.size:
        raise MethodError(f"{b.size} points cannot fix {p0.size} parameters and their scatter.")
    root = np.ones(b.size) if weights is None else np.sqrt(np.asarray(weights, dtype=np.float64))
    scale = float(np.max(np.abs(b * root))) or 1.0

    def rest(p: FloatArray) -> FloatArray:
        with np.errstate(all="ignore"):
            out = (b - model(a, p)) * root / scale
        return np.where(np.isfinite(out), out, 1e6)

    more = {"method": "lm"} if bounds is None else {"method": "trf", "bounds": bounds}
    fit = least_squares(
        rest, p0, jac="3-point", x_scale="jac", ftol=1e-15, xtol=1e-15, gtol=1e-15, max_nfev=20000, **more
    )
    best, jacobian, left = (
        np.asarray(fit.x),
        np.asarray(fit.jac, dtype=np.float64),
        np.asarray(fit.fun, dtype=np.float64),
    )
    if bounds is None:
        best, jacobian, left = _polished(rest, best)
    residuals = left * scale
    rss, df = float(residuals @ residuals), b.size - p0.size
    norm = np.sqrt(np.sum(jacobian**2, axis=0))
    norm[norm == 0] = 1.0
    try:
        inverse = np.linalg.inv((jacobian / norm).T @ (jacobian / norm)) / np.outer(norm, norm)
    except np.linalg.LinAlgError:
        raise MethodError("The points do not fix all parameters of the curve.") from None
    if not np.all(np.diag(inverse) > 0) or not np.all(np.isfinite(inverse)):
        raise MethodError("The points do not fix all parameters of the curve.")
    covariance = inverse * rss / df / scale**2
    gradient = jacobian.T @ left
    flat = float(np.max(np.abs(gradient / norm))) <= 1e-5 * max(math.sqrt(float(left @ left)), 1e-12)
    held = tuple(int(i) for i in np.flatnonzero(fit.active_mask)) if bounds is not None else ()
    if not (flat or held or fit.success):
        raise MethodError("The curve's fit does not converge from this start.")
    sd = np.sqrt(np.diag(inverse))
    correlation = inverse / sd[:, None] / sd[None, :]
    pairs = tuple((i, j) for i in range(p0.size) for j in range(i) if abs(correlation[i, j]) > 0.98)
    return Curve(
        parameters=read_only(best),
        covariance=read_only(covariance),
        residual_sd=math.sqrt(rss / df),
        rss=rss,
        df=df,
        n=b.size,
        residuals=read_only(residuals / root),
        converged=bool(flat),
        at_bound=held,
        correlated=pairs,
    )


def _polished(rest: Callable[[FloatArray], FloatArray], start: FloatArray) -> list[FloatArray]:
    """A few Gauss–Newton steps with central differences, kept while they do not make the fit worse."""
    best = start
    left = rest(best)
    jacobian = _jacobian(rest, best)
    for _ in range(6):
        step = np.linalg.lstsq(jacobian, -left, rcond=None)[0]
        tried = rest(best + step)
        if not float(tried @ tried) <= float(left @ left) * (1 + 1e-12):
            break
        best, left = best + step, tried
        jacobian = _jacobian(rest, best)
        if np.all(np.abs(step) <= 1e-14 * np.abs(best)):
            break
    return [best, jacobian, left]


def _jacobian(rest: Callable[[FloatArray], FloatArray], at: FloatArray) -> FloatArray:
    out = np.empty((rest(at).size, at.size))
    for k in range(at.size):
        h = 6e-6 * max(abs(float(at[k])), 1e-12)
        up, down = at.copy(), at.copy()
        up[k] += h
        down[k] -= h
        out[:, k] = (rest(up) - rest(down)) / (up[k] - down[k])
    return out
