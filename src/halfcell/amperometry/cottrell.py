"""The current after a potential step against 1/√t: slope, window of linearity, residual test."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.constants import FARADAY
from halfcell.errors import MethodError
from halfcell.results import Measured, read_only
from halfcell.statistics.autocorrelation import lag_one
from halfcell.statistics.linear import fit_linear

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cottrell:
    """i = intercept + slope/√t over a window.

    ``slope`` A·s^½ and ``intercept`` A with uncertainties widened for correlated residuals; ``start`` and
    ``end`` s; ``p_curved`` is the probability of so large a departure from the line when there is none.
    ``linear`` says whether any window of the least length passed.
    """

    slope: Measured
    intercept: Measured
    start: float
    end: float
    p_curved: float
    linear: bool
    residuals: FloatArray
    n: int


def cottrell_current(
    t: ArrayLike, *, electrons: float, area: float, concentration: float, diffusion: float
) -> FloatArray:
    """nFAc√(D/πt) in A for ``t`` (n,) s, m², mol/m³, m²/s.

    Source: Cottrell, Z. Phys. Chem. 42 (1903) 385; Bard and Faulkner, Electrochemical Methods (both from memory).
    """
    at = np.asarray(t, dtype=np.float64)
    return read_only(electrons * FARADAY * area * concentration * np.sqrt(diffusion / (math.pi * at)))


def fit_cottrell(
    time: ArrayLike, current: ArrayLike, *, level: float = 0.95, shortest: float = 0.3
) -> Cottrell:
    """The line of ``current`` (n,) A against 1/√``time`` (n,) s after the step.

    The start of the window moves later in steps until further terms (1/t, √t, t, t²) are together not
    significant at 1 − ``level`` (F test, correlated residuals allowed for); at most to where ``shortest`` of
    the record is left. When no window passes, the last is reported with ``linear`` false.

    Raises MethodError for fewer than 20 samples after the step.

    Source: Cottrell equation; the rule for the window is common practice, no source.
    """
    t, i = np.asarray(time, dtype=np.float64), np.asarray(current, dtype=np.float64)
    after = t > 0
    t, i = t[after], i[after]
    if t.size < 20:
        raise MethodError(
            f"Current against 1/√t needs at least 20 samples after the step; there are {t.size}."
        )
    first, last = float(t[0]), float(t[-1])
    starts = np.geomspace(max(first, last * 1e-3), last * (1 - shortest), 12)
    best: Cottrell | None = None
    for start in starts:
        chosen = t >= start
        if int(chosen.sum()) < 20:
            break
        best = _over(t[chosen], i[chosen], level)
        if best.linear:
            break
    if best is None:
        raise MethodError("Too few samples after the step for a window on 1/√t.")
    return best


def _over(t: FloatArray, i: FloatArray, level: float) -> Cottrell:
    from scipy import stats

    root = 1 / np.sqrt(t)
    u = t / t[-1]
    line = fit_linear(np.column_stack([np.ones(t.size), root]), i)
    bent = fit_linear(np.column_stack([np.ones(t.size), root, root**2, np.sqrt(u), u, u * u]), i)
    rho = lag_one(bent.residuals)
    wide = math.sqrt((1 + rho) / (1 - rho))
    df = max(t.size / wide**2 - 6, 2.0)
    f = (line.rss - bent.rss) / 4 / (bent.residual_sd * wide) ** 2 if bent.residual_sd > 0 else 0.0
    p = float(stats.f.sf(max(f, 0.0), 4, df))

    def widened(m: Measured) -> Measured:
        return Measured(value=m.value, u=m.u * wide, df=df)

    return Cottrell(
        slope=widened(line.coefficient(1)),
        intercept=widened(line.coefficient(0)),
        start=float(t[0]),
        end=float(t[-1]),
        p_curved=p,
        linear=p >= 1 - level,
        residuals=line.residuals,
        n=t.size,
    )
