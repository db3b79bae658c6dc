"""Line, parabola, site-limited curve or logarithm: which describes the points best, and why."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.calibration.saturation import fit_saturation
from halfcell.errors import MethodError
from halfcell.statistics.line import fit_line
from halfcell.statistics.polynomial import fit_polynomial

if TYPE_CHECKING:
    from numpy.typing import ArrayLike


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Candidate:
    """One model: its number of parameters (with the scatter), residual sum, AICc, Akaike weight; or why not."""

    name: str
    parameters: int
    rss: float
    aicc: float
    weight: float
    why_not: str = ""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Models:
    """Candidates from the best; ``reason`` says in words why it is best, and how clearly."""

    candidates: tuple[Candidate, ...]
    best: str
    reason: str

    def delta(self, name: str) -> float:
        """AICc of a model above the best; nan where it could not be fitted."""
        least = min(c.aicc for c in self.candidates if math.isfinite(c.aicc))
        return next((c.aicc - least for c in self.candidates if c.name == name), math.nan)


def compare_models(x: ArrayLike, y: ArrayLike) -> Models:
    """Straight line, parabola, site-limited curve, and line on log c, for ``y`` (n,) at ``x`` (n,).

    The line on log c is compared only where no level is zero. Raises MethodError for fewer than seven
    points, below which the correction of AICc is undefined for three-parameter curves.

    Source: Hurvich and Tsai, Biometrika 76 (1989) 297; Burnham and Anderson 2002 (both from memory).
    """
    a, b = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    n = a.size
    if n < 7 or np.unique(a).size < 5:
        raise MethodError(
            f"Models are compared for seven points at five levels or more; there are {n} at {np.unique(a).size}."
        )
    found: list[tuple[str, int, float, str]] = [
        ("straight line", 3, fit_line(a, b).rss, ""),
        ("parabola", 4, fit_polynomial(a, b, 2).rss, ""),
    ]
    try:
        found.append(("site-limited", 4, fit_saturation(a, b).curve.rss, ""))
    except MethodError as error:
        found.append(("site-limited", 4, math.nan, str(error)))
    if np.all(a > 0):
        found.append(("line on log c", 3, fit_line(np.log10(a), b).rss, ""))
    else:
        found.append(("line on log c", 3, math.nan, "a level is zero"))
    scores = [_aicc(n, k, rss) for _, k, rss, _ in found]
    least = min(s for s in scores if math.isfinite(s))
    raw = [math.exp(-(s - least) / 2) if math.isfinite(s) else 0.0 for s in scores]
    rows = [
        Candidate(name=name, parameters=k, rss=rss, aicc=s, weight=w / sum(raw), why_not=why)
        for (name, k, rss, why), s, w in zip(found, scores, raw, strict=True)
    ]
    rows.sort(key=lambda r: r.aicc if math.isfinite(r.aicc) else math.inf)
    return Models(candidates=tuple(rows), best=rows[0].name, reason=_reason(rows))


def _aicc(n: int, k: int, rss: float) -> float:
    if not math.isfinite(rss):
        return math.nan
    return n * math.log(max(rss, 1e-300) / n) + 2 * k + 2 * k * (k + 1) / (n - k - 1)


def _reason(rows: list[Candidate]) -> str:
    fitted = [r for r in rows if math.isfinite(r.aicc)]
    best, line = fitted[0], next(r for r in fitted if r.name == "straight line")
    if best is line:
        gap = fitted[1].aicc - best.aicc
        return f"the straight line describes the points best by AICc ({gap:.1f} below the {fitted[1].name})"
    gap = line.aicc - best.aicc
    strength = "clearly" if gap > 6 else "weakly"
    return f"the {best.name} describes the points {strength} better than the straight line (AICc {gap:.1f} lower)"
