"""Compare a finding between groups of electrodes: are the differences real?"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from halfcell.comparison.alternatives import against_reference, alternatives, mixed_model
from halfcell.comparison.batches import BATCHES, ELECTRODES, cautions, independent, merged, shared_table
from halfcell.comparison.planning import nested_need
from halfcell.comparison.result import Alternative, Comparison, GroupResult, Margin, PairResult
from halfcell.comparison.samples import Group, Samples, gather
from halfcell.comparison.slopes import Points, by_slopes
from halfcell.errors import MethodError
from halfcell.results import Interval, Measured
from halfcell.statistics.equivalence import equivalence
from halfcell.statistics.families import Pair
from halfcell.statistics.families_letters import letters
from halfcell.statistics.groups import summarise
from halfcell.statistics.groups_blocked import blocked_pairs
from halfcell.statistics.groups_ratio import mean_ratio
from halfcell.statistics.normality import Normality, normality
from halfcell.statistics.power import Design, groups_needed, smallest_difference
from halfcell.statistics.spread import SpreadTest, equal_spread
from halfcell.statistics.welch import WelchAnova, welch_anova
from halfcell.statistics.welch_pairs import welch_pairs
from halfcell.statistics.welch_size import every_pair, family_alpha

if TYPE_CHECKING:
    from halfcell.finding import Findings
    from halfcell.results import FloatArray

__all__ = ["Comparison", "Margin", "compare", "compare_samples"]

REASON = (
    "Variances are not assumed equal (a test of their equality sees little with so few electrodes), and the level of "
    "each pair is set so that the chance of any false difference among all pairs stays at the stated one, "
    "whatever the variances."
)


NESTED = (
    "Electrodes of one batch are not independent, so batches are compared by the means of their electrodes. "
)
BLOCKED = (
    "The same batches hold all groups, so each pair is judged by the differences within batches: what a batch does "
    "to all groups alike falls out, and no variances need to be equal."
)


def compare(
    findings: Findings,
    name: str,
    *,
    by: str = "material",
    condition: str | None = None,
    roles: tuple[str, ...] = ("candidate",),
    reference: str = "",
    margin: Margin | None = None,
    level: float = 0.95,
    unit: str = "",
    points: Points | None = None,
) -> Comparison:
    """A finding compared between the groups of an electrode attribute.

    The independent values are electrodes, or the batches they were made in where every group has
    several (``unit`` "electrodes" or "batches" decides otherwise); what is below them is averaged first.
    ``reference`` restricts the family to the pairs with that group. ``margin`` is the difference
    that would not matter, for showing that two groups are the same. ``points`` are those of which
    the finding is the slope; with them the slopes are also compared in one model. Raises MethodError where no
    electrode has a value.
    """
    samples = gather(findings, name, by=by, condition=condition, roles=roles)
    return compare_samples(samples, reference=reference, margin=margin, level=level, unit=unit, points=points)


def compare_samples(
    samples: Samples,
    *,
    reference: str = "",
    margin: Margin | None = None,
    level: float = 0.95,
    unit: str = "",
    points: Points | None = None,
) -> Comparison:
    """The comparison of values already gathered; see ``compare``."""
    if not samples.groups and not samples.apart:
        raise MethodError(f"No electrode has a value of {samples.finding!r} to compare.")
    counted = unit or independent(samples)
    groups = tuple(merged(g) for g in samples.groups) if counted == BATCHES else samples.groups
    tested = [g for g in groups if len(g.samples) >= 2]
    single = [g for g in groups if len(g.samples) < 2]
    notes = [f"{g.name}: one electrode, so it is shown and not tested" for g in single]
    notes += cautions(tested) if counted == ELECTRODES and samples.by != "batch" else ()
    base: dict[str, Any] = {
        "finding": samples.finding,
        "condition": samples.condition,
        "unit": samples.unit,
        "by": samples.by,
        "level": level,
        "independent": counted,
        "apart": tuple(_group(g, level) for g in (*single, *samples.apart)),
        "missing": samples.missing,
        "notes": tuple(notes),
    }
    names = [g.name for g in tested]
    try:
        return _tested(base, tested, names.index(reference) if reference in names else None, margin, points)
    except MethodError as error:
        few = "Fewer than two groups have two or more independent values, so nothing is tested."
        why = str(error) if len(tested) > 1 else few
        return Comparison(
            **base, groups=tuple(_group(g, level) for g in tested), pairs=(), test="none", reason=why
        )


def _tested(
    base: dict[str, Any],
    tested: Sequence[Group],
    place: int | None,
    margin: Margin | None,
    points: Points | None,
) -> Comparison:
    level: float = base["level"]
    names = [g.name for g in tested]
    values = [g.values for g in tested]
    table = shared_table(tested) if base["independent"] == BATCHES else None
    if table is not None:
        pairwise = blocked_pairs(table, level, reference=place)
        alpha, reason = (1 - level) / len(pairwise.pairs), BLOCKED
    else:
        pairwise = welch_pairs(values, level, reference=place)
        alpha = family_alpha(1 - level, tuple(map(len, values)), every_pair(len(values), place))
        reason = NESTED + REASON if base["independent"] == BATCHES else REASON
    claims = pairwise.claims()
    marks = letters([float(v.mean()) for v in values], claims) if place is None else ("",) * len(names)
    nested = base["independent"] == BATCHES
    others = _others(base, tested, place, claims, blocked=table is not None)
    if points is not None:
        others = (*others, by_slopes(points, tested, claims, level, place, batches=nested))
    groups = tuple(_group(g, level, mark) for g, mark in zip(tested, marks, strict=True))
    return Comparison(
        **base,
        groups=groups,
        pairs=tuple(
            _pair(p, groups, alpha, margin, level, blocked=table is not None, batches=nested)
            for p in pairwise
        ),
        test=pairwise.method,
        reason=reason,
        reference=names[place] if place is not None else "",
        overall=_overall(values),
        alternatives=others,
        depends=any(a.able and (a.adds or a.takes) for a in others),
        spread=_spread(values),
        normality=_normality(values),
    )


def _others(
    base: dict[str, Any],
    tested: Sequence[Group],
    place: int | None,
    claims: frozenset[tuple[int, int]],
    *,
    blocked: bool,
) -> tuple[Alternative, ...]:
    """What other methods would claim from the same values."""
    level, finding = base["level"], base["finding"]
    names, values = [g.name for g in tested], [g.values for g in tested]
    if place is not None:
        return () if blocked else against_reference(values, names, place, claims, level, finding)
    others = () if blocked else alternatives(values, names, claims, level, finding)
    if base["independent"] == BATCHES:
        others = (*others, *mixed_model(tested, claims, level))
    return others


def _group(group: Group, level: float, mark: str = "") -> GroupResult:
    summary = summarise(group.values)
    mean = summary.mean
    if summary.n == 1:
        only = group.samples[0]
        mean = Measured(
            value=only.value,
            u=only.u,
            df=only.df,
            why="one electrode: the scatter between electrodes is unknown",
        )
    return GroupResult(
        name=group.name,
        n=summary.n,
        mean=mean,
        s=summary.s,
        interval=mean.interval(level),
        letters=mark,
        group=group,
    )


def _pair(
    pair: Pair,
    groups: Sequence[GroupResult],
    alpha: float,
    margin: Margin | None,
    level: float,
    *,
    blocked: bool,
    batches: bool,
) -> PairResult:
    first, second = groups[pair.first], groups[pair.second]
    ratio = mean_ratio(first.mean, second.mean, alpha)
    limit = margin.of(first.mean.value, second.mean.value) if margin is not None else None
    test = (
        equivalence(pair.difference, limit, _one_sided(level, first.n, second.n, blocked=blocked))
        if limit
        else None
    )
    sought = limit or abs(pair.difference.value)
    design = Design(s1=first.s, s2=second.s, n1=first.n, n2=second.n)
    s1, s2 = first.s, second.s
    if blocked:
        # A difference within n batches is a mean of n values against an exact zero.
        n = int(pair.difference.df) + 1
        s1, s2 = pair.difference.u * math.sqrt(n), 0.0
        design = Design(s1=s1, s2=0.0, n1=n, n2=2)
    needed = groups_needed(sought, s1, s2, alpha) if math.isfinite(sought) else None
    nested = None
    if not (blocked or pair.different):
        nested = nested_need((first.group, second.group), sought, alpha, needed, batches=batches)
    return PairResult(
        first=first.name,
        second=second.name,
        difference=pair.difference,
        interval=Interval(low=pair.low, high=pair.high, level=level, method="simultaneous"),
        p=pair.p,
        different=pair.different,
        ratio=ratio.ratio,
        ratio_interval=ratio.interval,
        visible=smallest_difference(design, alpha),
        sought=sought,
        needed=needed,
        nested=nested,
        margin=limit,
        same=test.same if test else None,
        p_same=test.p if test else None,
    )


def _one_sided(level: float, n1: int, n2: int, *, blocked: bool) -> float:
    """The level of each one-sided test of equivalence: held at the worst ratio of variances."""
    alpha = 1 - level
    return alpha if blocked or alpha >= 0.25 else family_alpha(2 * alpha, (n1, n2)) / 2


def _overall(values: Sequence[FloatArray]) -> WelchAnova | None:
    try:
        return welch_anova(values)
    except MethodError:
        return None


def _spread(values: Sequence[FloatArray]) -> SpreadTest | None:
    try:
        return equal_spread(values)
    except MethodError:
        return None


def _normality(values: Sequence[FloatArray]) -> Normality | None:
    try:
        return normality(values)
    except MethodError:
        return None
