"""Charge after a potential step against √t: diffusing and adsorbed or capacitive parts."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.constants import FARADAY
from halfcell.errors import MethodError
from halfcell.results import Measured, read_only
from halfcell.statistics.linear import fit_linear

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Anson:
    """Q = intercept + slope·√t (+ background·t), C.

    ``slope`` C/s^½ belongs to diffusion; ``intercept`` C holds the double layer and what was adsorbed,
    which one step alone cannot tell apart.
    """

    slope: Measured
    intercept: Measured
    background: Measured
    start: float
    end: float


def anson_charge(
    t: ArrayLike, *, electrons: float, area: float, concentration: float, diffusion: float
) -> FloatArray:
    """2nFAc√(Dt/π) in C for ``t`` (n,) s, m², mol/m³, m²/s.

    Source: Anson, Anal. Chem. 38 (1966) 54 (from memory).
    """
    at = np.asarray(t, dtype=np.float64)
    return read_only(2 * electrons * FARADAY * area * concentration * np.sqrt(diffusion * at / math.pi))


def fit_anson(time: ArrayLike, current: ArrayLike, *, start: float = 0.0, steady: bool = False) -> Anson:
    """The line of the charge against √``time`` (n,) s for ``current`` (n,) A after a step at time 0.

    The fit is made on the current (slope/(2√t) + background), whose errors are independent, from
    ``start`` on; the intercept is the measured charge up to ``start`` less the diffusing part. With
    ``steady`` a constant current is fitted beside.

    Raises MethodError for fewer than 20 samples.

    Source: Anson, Anal. Chem. 38 (1966) 54 (from memory).
    """
    t, i = np.asarray(time, dtype=np.float64), np.asarray(current, dtype=np.float64)
    after = t > 0
    t, i = t[after], i[after]
    chosen = t >= start
    if int(chosen.sum()) < 20:
        raise MethodError(
            f"A charge analysis needs at least 20 samples after the step; there are {int(chosen.sum())}."
        )
    columns = [0.5 / np.sqrt(t[chosen])]
    if steady:
        columns.append(np.ones(int(chosen.sum())))
    fit = fit_linear(np.column_stack(columns), i[chosen], constant=False)
    slope = fit.coefficient(0)
    background = fit.coefficient(1) if steady else Measured(value=0.0, u=0.0)
    # The charge beyond diffusion: integral of the rest of the current, from the first sample on.
    rest = i - slope.value * 0.5 / np.sqrt(t) - background.value
    early = t <= max(start, float(t[0]))
    width = np.gradient(t) if t.size > 1 else np.ones(1)
    intercept = float(np.sum(rest[early] * width[early]))
    reach = float(t[early][-1])
    u = math.hypot(fit.residual_sd * math.sqrt(float(np.sum(width[early] ** 2))), slope.u * math.sqrt(reach))
    return Anson(
        slope=slope,
        intercept=Measured(value=intercept, u=u, df=fit.df),
        background=background,
        start=float(t[chosen][0]),
        end=float(t[-1]),
    )
