"""Whether a candidate meets a must: passed, failed or undecided, by the interval and not the point."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from halfcell.choice.criteria import Must
from halfcell.choice.estimates import Estimate
from halfcell.results import Interval, Measured, coverage_factor
from halfcell.statistics.power import beyond

PASSED, FAILED, UNDECIDED = "passed", "failed", "undecided"
_MOST = 60
"""Electrodes above which more of them are not advised (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Settling:
    """What would settle an undecided must: ``more`` of ``what``, None where no affordable number would.

    ``chance`` is the probability that it does, were the present mean and scatter the true ones.
    """

    what: str
    more: int | None
    chance: float = 0.8


@dataclass(frozen=True, slots=True, kw_only=True)
class MustResult:
    """One must and one candidate.

    ``margin`` is the distance from the nearest limit, positive on the right side, in the finding's
    unit; unknown for words. ``words`` holds what each electrode showed.
    """

    must: Must
    candidate: str
    verdict: str
    margin: Measured
    interval: Interval
    estimate: Estimate
    why: str
    words: tuple[str, ...] = ()
    settling: Settling | None = None


def judge(must: Must, estimate: Estimate, level: float) -> MustResult:
    """The verdict of one must for one candidate at a confidence level.

    Passed: the whole two-sided interval of the mean is on the right side. Failed: the whole of it
    is on the wrong side. Otherwise undecided, also when there is no value or only one electrode.
    """
    if must.equals is not None:
        return _judge_word(must, estimate, level)
    interval = estimate.mean.interval(level)
    margin = _margin(must, estimate.mean)
    base: dict[str, Any] = {
        "must": must,
        "candidate": estimate.candidate,
        "margin": margin,
        "interval": interval,
        "estimate": estimate,
    }
    if not estimate.known:
        return MustResult(
            **base,
            verdict=UNDECIDED,
            why=estimate.mean.why or "not measured",
            settling=Settling(what="a measurement of it", more=None),
        )
    if not estimate.repeatable:
        why = estimate.mean.why or "its uncertainty is not known"
        return MustResult(**base, verdict=UNDECIDED, why=why, settling=Settling(what="electrodes", more=2))
    low = -math.inf if must.at_least is None else must.at_least
    high = math.inf if must.at_most is None else must.at_most
    if low <= interval.low and interval.high <= high:
        return MustResult(**base, verdict=PASSED, why="its interval lies within the limit")
    if interval.high < low or interval.low > high:
        return MustResult(**base, verdict=FAILED, why="its interval lies beyond the limit")
    return MustResult(
        **base,
        verdict=UNDECIDED,
        why="its interval holds the limit",
        settling=settle(estimate, margin.value, level),
    )


def _margin(must: Must, mean: Measured) -> Measured:
    sides = []
    if must.at_least is not None:
        sides.append(mean.value - must.at_least)
    if must.at_most is not None:
        sides.append(must.at_most - mean.value)
    return Measured(value=min(sides), u=mean.u, df=mean.df, why=mean.why)


def _judge_word(must: Must, estimate: Estimate, level: float) -> MustResult:
    """Passed when every electrode shows the word, each with at least the level's probability."""
    nothing = Measured(value=math.nan, why="a word has no margin")
    words = tuple(s.text for s in estimate.samples)
    open_end = Interval(low=-math.inf, high=math.inf, level=level, method="word")
    base: dict[str, Any] = {
        "must": must,
        "candidate": estimate.candidate,
        "margin": nothing,
        "interval": open_end,
        "estimate": estimate,
        "words": words,
    }
    if not any(words):
        why = estimate.mean.why or "not measured"
        return MustResult(
            **base, verdict=UNDECIDED, why=why, settling=Settling(what="a measurement of it", more=None)
        )
    sure = [math.isnan(s.value) or s.value >= level for s in estimate.samples]
    right = [w.casefold() == (must.equals or "").casefold() for w in words]
    share = f"{sum(right)} of {len(right)} electrodes"
    if all(right) and all(sure) and len(right) > 1:
        return MustResult(**base, verdict=PASSED, why=f"{share} show it")
    if not any(right) and all(sure):
        return MustResult(**base, verdict=FAILED, why=f"{share} show it")
    if all(right) and all(sure):
        return MustResult(
            **base,
            verdict=UNDECIDED,
            why="one electrode shows it",
            settling=Settling(what="electrodes", more=2),
        )
    return MustResult(
        **base,
        verdict=UNDECIDED,
        why=f"{share} show it" + ("" if all(sure) else ", not all beyond doubt"),
        settling=Settling(
            what="repeats on the same electrodes" if not all(sure) else "electrodes", more=None
        ),
    )


def settle(estimate: Estimate, distance: float, level: float, chance: float = 0.8) -> Settling:
    """How many more electrodes (or repeats) would bring the interval clear of a limit.

    Were the present mean and scatter the true ones: the chance that a t interval of n electrodes
    excludes a limit at ``distance`` is a noncentral t probability.
    """
    what = "electrodes"
    if math.isfinite(estimate.within) and estimate.within > 0.5:
        what = "repeats on the same electrodes"
    s = estimate.s if math.isfinite(estimate.s) else estimate.mean.u * math.sqrt(max(estimate.n, 1))
    n = max(estimate.n, 2)
    for total in range(n + 1, _MOST + 1):
        if _clear(abs(distance), s, total, level) >= chance:
            return Settling(what=what, more=total - n, chance=chance)
    return Settling(what=what, more=None, chance=chance)


def _clear(distance: float, s: float, n: int, level: float) -> float:
    if s <= 0:
        return 1.0
    return float(beyond(coverage_factor(level, n - 1), distance * math.sqrt(n) / s, n - 1)[0])
