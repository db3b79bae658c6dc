"""The candidates in order, with the chance of each place."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.choice.criteria import Must, Want
from halfcell.choice.desirability import desirability, together
from halfcell.choice.draws import Draws
from halfcell.choice.estimates import Column, Estimate
from halfcell.results import Interval, Measured

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranked:
    """One candidate that is not eliminated.

    ``desirability`` is that of its means, with the standard deviation over the draws as uncertainty
    and ``interval`` their central part; ``parts`` are the desirabilities of the wants; ``best`` is
    the probability that it is the best of those that meet the musts; ``places`` the interval of its
    place (1 is best); ``front`` whether no other candidate is at least as good in every want, and
    ``on_front`` the probability of that.
    """

    candidate: str
    desirability: Measured
    interval: Interval
    parts: tuple[float, ...]
    best: float
    places: tuple[int, int]
    front: bool
    on_front: float
    eligible: float
    """Probability that it meets every must."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Standing:
    """The draws of desirability, (draws, candidates), and which are allowed by the musts."""

    scores: FloatArray
    allowed: NDArray[np.bool_]
    winner: NDArray[np.float64]
    """(draws, candidates): 1 for the best allowed one, shared on a tie, 0 when none is allowed."""


def stand(
    draws: Draws, wants: Sequence[Want], keys: Sequence[int], limits: Sequence[tuple[Must, int]]
) -> Standing:
    """Desirability of every draw. ``keys`` gives each want's column, ``limits`` each must's."""
    parts = (
        np.stack([desirability(draws.means[:, :, c], w) for w, c in zip(wants, keys, strict=True)], axis=-1)
        if wants
        else np.ones((*draws.means.shape[:2], 0))
    )
    scores = together(parts, [w.weight for w in wants])
    allowed = np.ones(scores.shape, dtype=bool)
    for must, c in limits:
        values = draws.means[:, :, c]
        if must.at_most is not None:
            allowed &= values <= must.at_most
        if must.at_least is not None:
            allowed &= values >= must.at_least
    masked = np.where(allowed, scores, -1.0)
    top = masked.max(axis=1, keepdims=True)
    first = (masked == top) & allowed
    shares = first / np.maximum(first.sum(axis=1, keepdims=True), 1)
    return Standing(scores=scores, allowed=allowed, winner=shares)


def rank(
    table: Sequence[Sequence[Estimate]],
    wants: Sequence[Want],
    keys: Sequence[int],
    draws: Draws,
    standing: Standing,
    level: float,
) -> tuple[Ranked, ...]:
    """Candidates by the desirability of their means, best first."""
    values = np.array([[row[c].mean.value for c in keys] for row in table]).reshape(len(table), len(keys))
    parts = (
        np.stack([desirability(values[:, i], w) for i, w in enumerate(wants)], axis=-1)
        if wants
        else np.ones((len(table), 0))
    )
    points = together(parts, [w.weight for w in wants])
    on_front = _front_share(draws.means[:, :, list(keys)], wants)
    front = _front_share(values[None], wants) == 1
    places = 1 + (standing.scores[:, None, :] > standing.scores[:, :, None]).sum(axis=2)
    tails = [(1 - level) / 2, (1 + level) / 2]
    out = []
    for i, row in enumerate(table):
        low, high = np.quantile(standing.scores[:, i], tails)
        near, far = np.quantile(places[:, i], tails, method="closest_observation")
        out.append(
            Ranked(
                candidate=row[0].candidate if row else "",
                desirability=Measured(value=float(points[i]), u=float(standing.scores[:, i].std())),
                interval=Interval(low=float(low), high=float(high), level=level, method="draws"),
                parts=tuple(float(v) for v in parts[i]),
                best=float(standing.winner[:, i].mean()),
                places=(int(near), int(far)),
                front=bool(front[i]),
                on_front=float(on_front[i]),
                eligible=float(standing.allowed[:, i].mean()),
            )
        )
    return tuple(sorted(out, key=lambda r: (-r.desirability.value, -r.best)))


def _front_share(values: FloatArray, wants: Sequence[Want]) -> FloatArray:
    """Share of draws in which each candidate is dominated by no other, in the original units."""
    k = values.shape[1]
    if not wants:
        return np.ones(k)
    signed = np.stack([_signed(values[:, :, i], w) for i, w in enumerate(wants)], axis=-1)
    dominated = np.zeros(values.shape[:2], dtype=bool)
    for i in range(k):
        for j in range(k):
            if i != j:
                worse = np.all(signed[:, j] >= signed[:, i], axis=-1) & np.any(
                    signed[:, j] > signed[:, i], axis=-1
                )
                dominated[:, i] |= worse
    out: FloatArray = 1.0 - dominated.mean(axis=0)
    return out


def _signed(values: FloatArray, want: Want) -> FloatArray:
    """Values so that more is better."""
    if want.aim == "maximise":
        return values
    if want.aim == "minimise":
        return -values
    return -np.abs(values - (want.target if want.target is not None else math.nan))


def columns_of(names: Sequence[Column]) -> tuple[Column, ...]:
    """Each column once, in order."""
    return tuple(dict.fromkeys(names))
