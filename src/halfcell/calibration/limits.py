"""Decision, detection and quantification limits, each by a named definition with its own needs."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Interval, Measured
from halfcell.statistics.noncentral import noncentrality, ratio_of_sd, signal_interval, symmetric_u

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import ArrayLike

    from halfcell.statistics.line import Line

NEEDS: Mapping[str, str] = {
    "line": "the response is a straight line down to zero",
    "scatter": "the scatter is the same at all levels",
    "low": "the lowest levels lie near the limit",
    "blanks": "blanks measured as samples are, at least seven of them",
    "replicates": "at least seven replicates at one level near the limit",
    "normal": "the scatter is normal",
    "slope": "the slope is known well against its uncertainty",
}
"""What a definition may need, in words."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Limit:
    """One limit: ``value`` in the unit of x, with its own interval. ``kind`` is "decision" (a signal above it is no blank), "detection" or "quantification". ``needs`` are
    keys of NEEDS; ``fails`` those that do not hold here.
    """

    definition: str
    kind: str
    value: Measured
    interval: Interval
    source: str
    needs: tuple[str, ...]
    fails: tuple[str, ...]
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Limits:
    """All limits a calibration allows, and why the others cannot be had."""

    rows: tuple[Limit, ...]
    missing: Mapping[str, str] = field(default_factory=dict)

    def named(self, definition: str, kind: str = "detection") -> Limit:
        """One limit. Raises MethodError with the reason or the names there are."""
        for row in self.rows:
            if row.definition == definition and row.kind == kind:
                return row
        if definition in self.missing:
            raise MethodError(f"No limit by {definition!r}: {self.missing[definition]}.")
        names = ", ".join(repr(n) for n in dict.fromkeys(r.definition for r in self.rows))
        raise MethodError(f"There is no {kind} limit by {definition!r}; there are {names}.")


def limits(
    line: Line,
    *,
    blanks: ArrayLike | None = None,
    low_replicates: ArrayLike | None = None,
    noise: Measured | None = None,
    readings: int = 1,
    alpha: float = 0.05,
    beta: float = 0.05,
    level: float = 0.95,
    weight_at_zero: float = 1.0,
    fails: tuple[str, ...] = (),
) -> Limits:
    """Every limit the data allow, from a calibration ``line``.

    ``blanks`` (m,) and ``low_replicates`` (k,) are signals in the unit of y; ``readings`` is the number of
    readings averaged for a sample; ``noise`` is the standard deviation of single readings of one blank
    record; ``weight_at_zero`` is the weight of a reading at x = 0 in the line's weighting; ``fails`` are the
    needs (keys of NEEDS) that the caller has found not to hold.

    Limits from the line have exact intervals (noncentral t), those from blanks combined ones.

    Raises MethodError when the slope is zero or the line fits exactly (no scatter to judge by).

    Source: ICH Q2(R1) 2005 (3.3 σ/S, 10 σ/S); IUPAC, Pure Appl. Chem. 45 (1976) 99 (k = 3);
    Currie, Pure Appl. Chem. 67 (1995) 1699; ISO 11843-2:2000; DIN 32645:2008; US EPA 40 CFR 136 App. B
    (all from memory; error rates confirmed by simulation).
    """
    if line.slope.value == 0 or not math.isfinite(line.slope.u):
        raise MethodError("Without a slope that has an uncertainty there is no detection limit.")
    if not line.residual_sd > 1e-12 * float(np.ptp(line.y)):
        raise MethodError(
            "The points lie exactly on the line: there is no scatter to base a detection limit on."
        )
    context = _Context(line=line, level=level, weight=weight_at_zero, fails=frozenset(fails))
    rows = [*_from_line(context, readings, alpha, beta)]
    missing: dict[str, str] = {}
    b = None if blanks is None else np.asarray(blanks, dtype=np.float64)
    if b is None or b.size < 3:
        few = (
            "no blanks were measured"
            if b is None or b.size == 0
            else f"only {b.size} blank{'s were' if b.size > 1 else ' was'} measured; at least 3 are needed"
        )
        missing |= dict.fromkeys(("ICH Q2, blanks", "IUPAC 1976", "Currie 1995", "DIN 32645, blanks"), few)
    else:
        rows += _from_blanks(context, b, readings, alpha, beta)
    if noise is not None and noise.value > 0:
        rows.append(_from_noise(context, noise))
    r = None if low_replicates is None else np.asarray(low_replicates, dtype=np.float64)
    if r is None or r.size < 4:
        missing["US EPA"] = "no level near the limit was measured four times or more"
    else:
        rows += _from_replicates(context, r)
    return Limits(rows=tuple(rows), missing=missing)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Context:
    line: Line
    level: float
    weight: float
    fails: frozenset[str]

    @property
    def slope(self) -> float:
        return abs(self.line.slope.value)

    @property
    def ratio(self) -> float:
        """Standard deviation of one reading at zero over the slope."""
        return self.line.residual_sd / math.sqrt(self.weight) / self.slope

    def ratio_interval(self) -> Interval:
        """Exact interval for it: s/b is √S_xx over a noncentral t."""
        t = self.slope / self.line.slope.u
        delta = signal_interval(t, self.line.df, level=self.level)
        scale = self.ratio * t
        high = scale / delta.low if delta.low > 0 else math.inf
        return Interval(low=scale / delta.high, high=high, level=self.level, method="noncentral t")

    def row(
        self, definition: str, kind: str, of_ratio: Callable[[float], float], ratio: float, interval: Interval, df: float, source: str,
        needs: tuple[str, ...], note: str = "",
    ) -> Limit:  # fmt: skip
        value = of_ratio(ratio)
        low, high = (
            of_ratio(interval.low),
            of_ratio(interval.high) if math.isfinite(interval.high) else math.inf,
        )
        shown = Interval(low=low, high=high, level=interval.level, method=interval.method)
        return Limit(
            definition=definition,
            kind=kind,
            value=Measured(value=value, u=symmetric_u(value, shown, df), df=df),
            interval=shown,
            source=source,
            needs=needs,
            fails=tuple(n for n in needs if n in self.fails),
            note=note,
        )


_ICH = "ICH Q2(R1), 2005, 6.3 and 7.3 (from memory)"
_ISO = "ISO 11843-2:2000 (from memory; error rates confirmed by simulation)"
_DIN = "DIN 32645:2008 (from memory)"
_CURRIE = "Currie, Pure Appl. Chem. 67 (1995) 1699"
_IUPAC = "IUPAC, Pure Appl. Chem. 45 (1976) 99 (from memory)"
_NOISE = "common practice, no source"
_EPA = "US EPA, 40 CFR 136, Appendix B (from memory)"
_LINE_NEEDS = ("line", "scatter", "low", "normal", "slope")


def _from_line(c: _Context, readings: int, alpha: float, beta: float) -> list[Limit]:
    from scipy import special

    line, df = c.line, c.line.df
    ratio, interval = c.ratio, c.ratio_interval()

    def row(name: str, kind: str, k: float, source: str) -> Limit:
        return c.row(name, kind, lambda q: k * q, ratio, interval, df, source, _LINE_NEEDS)

    intercept = line.intercept.u / line.residual_sd * math.sqrt(c.weight) if not line.through_zero else 0.0
    out = [
        row("ICH Q2, residuals", "detection", 3.3, _ICH),
        row("ICH Q2, residuals", "quantification", 10.0, _ICH),
    ]
    if intercept > 0:
        out += [
            row("ICH Q2, intercept", "detection", 3.3 * intercept, _ICH),
            row("ICH Q2, intercept", "quantification", 10.0 * intercept, _ICH),
        ]
    # K readings of the sample; the line's own uncertainty at zero stands for the blank's.
    spread = math.hypot(1 / math.sqrt(readings), intercept)
    t = float(special.stdtrit(df, 1 - alpha)) if math.isfinite(df) else float(special.ndtri(1 - alpha))
    out += [
        row("ISO 11843-2", "decision", t * spread, _ISO),
        row("ISO 11843-2", "detection", noncentrality(df, alpha=alpha, beta=beta) * spread, _ISO),
        row("DIN 32645, calibration", "decision", t * spread, _DIN),
        row("DIN 32645, calibration", "detection", 2 * t * spread, _DIN),
    ]
    out.append(
        c.row("DIN 32645, calibration", "quantification", lambda q: _din_quantification(c, q, readings, alpha), ratio, interval, df, _DIN, _LINE_NEEDS)
    )  # fmt: skip
    return out


def _din_quantification(c: _Context, ratio: float, readings: int, alpha: float, k: float = 3.0) -> float:
    """x with a relative half-width of 1/k (two-sided t): x = k·t·(s/b)·√(1/K + 1/Σw + (x − x̄)²/S_xx)."""
    from scipy import special

    t = (
        float(special.stdtrit(c.line.df, 1 - alpha / 2))
        if math.isfinite(c.line.df)
        else float(special.ndtri(1 - alpha / 2))
    )
    a = (k * t * ratio) ** 2
    total = float(np.sum(c.line.weights)) / c.weight
    sxx = c.line.sxx / c.weight
    mean = c.line.x_mean
    # x² = a (1/K + 1/Σw + (x − x̄)²/S): a quadratic; no solution when the slope is too poor.
    p, q, r = 1 - a / sxx, a * mean / sxx, -a * (1 / readings + 1 / total + mean * mean / sxx)
    if p <= 0:
        return math.inf
    return (-q + math.sqrt(max(q * q - p * r, 0.0))) / p


def _from_blanks(c: _Context, blanks: np.ndarray, readings: int, alpha: float, beta: float) -> list[Limit]:
    from scipy import special

    n, df = blanks.size, blanks.size - 1
    sd = float(blanks.std(ddof=1))
    if sd == 0:
        return []
    ratio, interval = sd / c.slope, ratio_of_sd(sd, df, c.line.slope, c.level)
    needs = ("blanks", "normal", "slope") if n < 7 else ("normal", "slope")
    fails = _Context(
        line=c.line, level=c.level, weight=c.weight, fails=c.fails | ({"blanks"} if n < 7 else set())
    )

    def row(name: str, kind: str, k: float, source: str) -> Limit:
        return fails.row(
            name, kind, lambda q: k * q, ratio, interval, df, source, (*needs, "line"), f"from {n} blanks"
        )

    pair = math.sqrt(1 / readings + 1 / n)
    t = float(special.stdtrit(df, 1 - alpha))
    return [
        row("ICH Q2, blanks", "detection", 3.3, _ICH),
        row("ICH Q2, blanks", "quantification", 10.0, _ICH),
        row("IUPAC 1976", "detection", 3.0, _IUPAC),
        row("Currie 1995", "decision", t * pair, _CURRIE),
        row("Currie 1995", "detection", noncentrality(df, alpha=alpha, beta=beta) * pair, _CURRIE),
        row("Currie 1995", "quantification", 10.0, _CURRIE),
        row("DIN 32645, blanks", "decision", t * pair, _DIN),
        row("DIN 32645, blanks", "detection", 2 * t * pair, _DIN),
    ]


def _from_noise(c: _Context, noise: Measured) -> Limit:
    """Three times the noise of one blank record: often printed, though it leaves out all scatter between readings."""
    blind = _Context(line=c.line, level=c.level, weight=c.weight, fails=c.fails | {"blanks"})
    interval = ratio_of_sd(noise.value, noise.df, c.line.slope, c.level)
    note = "noise within one record only: what differs from reading to reading is left out, so the limit is too low"
    return blind.row(
        "three times the noise",
        "detection",
        lambda q: 3 * q,
        noise.value / c.slope,
        interval,
        noise.df,
        _NOISE,
        ("blanks", "normal", "slope", "line"),
        note,
    )


def _from_replicates(c: _Context, replicates: np.ndarray) -> list[Limit]:
    from scipy import special

    n, df = replicates.size, replicates.size - 1
    sd = float(replicates.std(ddof=1))
    if sd == 0:
        return []
    fails = _Context(
        line=c.line, level=c.level, weight=c.weight, fails=c.fails | ({"replicates"} if n < 7 else set())
    )
    interval = ratio_of_sd(sd, df, c.line.slope, c.level)
    k = float(special.stdtrit(df, 0.99))
    return [
        fails.row("US EPA", "detection", lambda q: k * q, sd / c.slope, interval, df, _EPA, ("replicates", "normal", "slope"), f"from {n} replicates")
    ]  # fmt: skip
