"""The choice: musts, ranking, and what it hangs on, from the table of findings alone."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from halfcell.choice.advice import Advice, advise
from halfcell.choice.criteria import Criteria, Must, Want
from halfcell.choice.desirability import desirability, together
from halfcell.choice.draws import Draws, draw
from halfcell.choice.estimates import Column, Estimate, candidates_of, conditions_for, estimate
from halfcell.choice.musts import FAILED, PASSED, UNDECIDED, MustResult, judge
from halfcell.choice.ranking import Ranked, Standing, columns_of, rank, stand
from halfcell.choice.sensitivity import Dropped, WeightMove, dropped_musts, weight_moves
from halfcell.errors import MethodError
from halfcell.results import Interval, Measured

if TYPE_CHECKING:
    from halfcell.finding import Findings


@dataclass(frozen=True, slots=True, kw_only=True)
class Versus:
    """The leader against another candidate.

    ``difference`` of desirability, with its interval from the draws; ``better`` is the probability
    that the leader's is higher. ``real`` is True only where the interval excludes zero.
    """

    leader: str
    other: str
    difference: Measured
    interval: Interval
    better: float

    @property
    def real(self) -> bool:
        """Whether the data show the leader to be the more desirable one."""
        return self.interval.low > 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """Which candidate goes forward, how sure that is, and what it hangs on.

    ``ranked`` holds the candidates that no must eliminates, best first; ``failed`` those that one
    does; ``unranked`` those that lack a wanted finding. ``estimates`` has one entry a candidate and
    criterion. ``leader`` is empty when nobody is left.
    """

    criteria: Criteria
    by: str
    level: float
    seed: int
    count: int
    candidates: tuple[str, ...]
    musts: tuple[MustResult, ...]
    ranked: tuple[Ranked, ...]
    failed: tuple[str, ...]
    unranked: tuple[str, ...]
    estimates: tuple[Estimate, ...]
    versus: tuple[Versus, ...] = ()
    weights: tuple[WeightMove, ...] = ()
    dropped: tuple[Dropped, ...] = ()
    advice: Advice | None = None
    notes: tuple[str, ...] = ()

    @property
    def leader(self) -> str:
        """The candidate that leads the ranking."""
        return self.ranked[0].candidate if self.ranked else ""

    @property
    def undecided(self) -> tuple[MustResult, ...]:
        """The undecided musts of candidates that are not eliminated."""
        return tuple(r for r in self.musts if r.verdict == UNDECIDED and r.candidate not in self.failed)

    @property
    def proven(self) -> bool:
        """Whether the leader meets every must and is the best with the level's probability."""
        return bool(self.ranked) and not self.doubts(self.leader) and self.ranked[0].best >= self.level

    def doubts(self, candidate: str) -> tuple[MustResult, ...]:
        """The undecided musts of a candidate."""
        return tuple(r for r in self.musts if r.candidate == candidate and r.verdict == UNDECIDED)

    def reasons(self, candidate: str) -> tuple[MustResult, ...]:
        """The musts a candidate fails."""
        return tuple(r for r in self.musts if r.candidate == candidate and r.verdict == FAILED)

    def estimate(self, candidate: str, finding: str, condition: str = "") -> Estimate | None:
        """What is known of a candidate for a finding."""
        wanted = Column(finding=finding, condition=condition)
        return next((e for e in self.estimates if e.candidate == candidate and e.column == wanted), None)

    def place(self, candidate: str) -> Ranked | None:
        """A candidate's entry in the ranking."""
        return next((r for r in self.ranked if r.candidate == candidate), None)


def choose(
    findings: Findings,
    criteria: Criteria,
    *,
    by: str = "material",
    level: float = 0.95,
    count: int = 4000,
    seed: int = 0,
    unit: str = "",
) -> Choice:
    """Judge every candidate by the musts, rank the rest by the wants, and say what that hangs on.

    ``by`` is the electrode attribute that makes the candidates, ``level`` the confidence of every
    interval, ``count`` the number of random draws; ``unit`` "electrodes" takes electrodes of one batch as
    independent. Nothing is measured again: only the table is read.
    Raises MethodError where there is no candidate and for a condition that no finding has.
    """
    candidates = candidates_of(findings, by)
    if not candidates:
        raise MethodError(
            f"No electrode is a candidate with a stated {by}, so there is nothing to choose from."
        )
    musts = _musts(findings, criteria.musts)
    wants = _wants(findings, criteria.wants)
    columns = columns_of([*map(_column, musts), *map(_column, wants)])
    found = {c: estimate(findings, c, candidates, by, unit) for c in columns}
    results = tuple(judge(m, found[_column(m)][name], level) for name in candidates for m in musts)
    failed = tuple(n for n in candidates if any(r.verdict == FAILED and r.candidate == n for r in results))
    unranked = tuple(
        n for n in candidates if n not in failed and not all(found[_column(w)][n].known for w in wants)
    )
    left = [n for n in candidates if n not in failed and n not in unranked]
    base = Choice(
        criteria=replace(criteria, musts=musts, wants=wants),
        by=by,
        level=level,
        seed=seed,
        count=count,
        candidates=candidates,
        musts=results,
        ranked=(),
        failed=failed,
        unranked=unranked,
        estimates=tuple(found[c][n] for n in candidates for c in columns),
        notes=_notes(found, wants, unranked),
    )
    if not left or not wants:
        return replace(base, dropped=dropped_musts(results, [m.label for m in musts], {}, ""))
    return _ranked(base, [[found[c][n] for c in _numeric(columns, musts, wants)] for n in left])


def _ranked(base: Choice, table: Sequence[Sequence[Estimate]]) -> Choice:
    wants, columns = base.criteria.wants, [e.column for e in table[0]]
    keys = [columns.index(_column(w)) for w in wants]
    limits = [
        (m, columns.index(_column(m))) for m in base.criteria.musts if m.equals is None and _open(m, base)
    ]
    usable = [i for i in range(len(columns)) if all(row[i].known for row in table)]
    draws = draw(table, base.count, base.seed)
    standing = stand(draws, wants, keys, [(m, c) for m, c in limits if c in usable])
    ranked = rank(table, wants, keys, draws, standing, base.level)
    leader = ranked[0].candidate
    names = [row[0].candidate for row in table]
    scores = _scores(base, wants)
    lent = tuple(
        f"{b}: its scatter was taken from the other candidates (one electrode)" for b in draws.borrowed
    )
    blind = tuple(f"{b}: no uncertainty is known, so it was taken as exact in the draws" for b in draws.blind)
    return replace(
        base,
        ranked=ranked,
        versus=tuple(_versus(standing, names, leader, r.candidate, base.level) for r in ranked[1:]),
        weights=weight_moves(ranked, wants),
        dropped=dropped_musts(base.musts, [m.label for m in base.criteria.musts], scores, leader),
        advice=advise(table, wants, keys, ranked, base.level, base.count, base.seed),
        notes=(*base.notes, *lent, *blind),
    )


def _open(must: Must, base: Choice) -> bool:
    """Whether a must is undecided for somebody who is left: only those weigh on the draws."""
    return any(r.must is must and r.verdict != FAILED and r.candidate not in base.failed for r in base.musts)


def _versus(standing: Standing, names: Sequence[str], leader: str, other: str, level: float) -> Versus:
    gap = standing.scores[:, names.index(leader)] - standing.scores[:, names.index(other)]
    low, high = np.quantile(gap, [(1 - level) / 2, (1 + level) / 2])
    return Versus(
        leader=leader,
        other=other,
        difference=Measured(value=float(gap.mean()), u=float(gap.std())),
        interval=Interval(low=float(low), high=float(high), level=level, method="draws"),
        better=float((gap > 0).mean() + 0.5 * (gap == 0).mean()),
    )


def _scores(base: Choice, wants: Sequence[Want]) -> dict[str, float]:
    """Desirability at the means of every candidate, the eliminated ones too; nan where unknown."""
    out = {}
    for name in base.candidates:
        found = [base.estimate(name, w.finding, w.condition or "") for w in wants]
        values = [e.mean.value if e is not None else math.nan for e in found]
        parts = [float(desirability(v, w)) for v, w in zip(values, wants, strict=True)]
        out[name] = float(together(parts, [w.weight for w in wants]))
    return out


def _column(criterion: Must | Want) -> Column:
    return Column(finding=criterion.finding, condition=criterion.condition or "")


def _numeric(columns: Sequence[Column], musts: Sequence[Must], wants: Sequence[Want]) -> list[Column]:
    numbers = {_column(m) for m in musts if m.equals is None} | {_column(w) for w in wants}
    return [c for c in columns if c in numbers]


def _musts(findings: Findings, musts: Sequence[Must]) -> tuple[Must, ...]:
    """One must for each condition it is about."""
    return tuple(
        replace(m, condition=c) for m in musts for c in conditions_for(findings, m.finding, m.condition)
    )


def _wants(findings: Findings, wants: Sequence[Want]) -> tuple[Want, ...]:
    out = []
    for want in wants:
        conditions = conditions_for(findings, want.finding, want.condition)
        if len(conditions) > 1:
            some = ", ".join(repr(c) for c in conditions[:6])
            raise MethodError(f"The want about {want.finding!r} must say which condition it means: {some}.")
        out.append(replace(want, condition=conditions[0]))
    return tuple(out)


def _notes(
    found: dict[Column, dict[str, Estimate]], wants: Sequence[Want], unranked: Sequence[str]
) -> tuple[str, ...]:
    return tuple(
        f"{name} cannot be ranked: {w.label}: {found[_column(w)][name].mean.why}"
        for name in unranked
        for w in wants
        if not found[_column(w)][name].known
    )


__all__ = ["FAILED", "PASSED", "UNDECIDED", "Choice", "Draws", "Versus", "choose"]
