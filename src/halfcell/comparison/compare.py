"""Compare a finding between groups of electrodes: are the differences real?"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from halfcell.comparison.alternatives import alternatives
from halfcell.comparison.result import Comparison, GroupResult, Margin, PairResult
from halfcell.comparison.samples import Group, Samples, gather
from halfcell.errors import MethodError
from halfcell.results import Interval, Measured
from halfcell.statistics.equivalence import equivalence
from halfcell.statistics.families import Pair
from halfcell.statistics.families_letters import letters
from halfcell.statistics.groups import summarise
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
) -> Comparison:
    """A finding compared between the groups of an electrode attribute.

    The independent values are electrodes; several findings of one electrode are averaged first.
    ``reference`` restricts the family to the pairs with that group. ``margin`` is the difference
    that would not matter, for showing that two groups are the same. Raises MethodError where no
    electrode has a value.
    """
    samples = gather(findings, name, by=by, condition=condition, roles=roles)
    return compare_samples(samples, reference=reference, margin=margin, level=level)


def compare_samples(
    samples: Samples, *, reference: str = "", margin: Margin | None = None, level: float = 0.95
) -> Comparison:
    """The comparison of values already gathered; see ``compare``."""
    if not samples.groups and not samples.apart:
        raise MethodError(f"No electrode has a value of {samples.finding!r} to compare.")
    tested = [g for g in samples.groups if len(g.samples) >= 2]
    single = [g for g in samples.groups if len(g.samples) < 2]
    notes = [f"{g.name}: one electrode, so it is shown and not tested" for g in single]
    base: dict[str, Any] = {
        "finding": samples.finding,
        "condition": samples.condition,
        "unit": samples.unit,
        "by": samples.by,
        "level": level,
    }
    apart = tuple(_group(g, level) for g in (*single, *samples.apart))
    names = [g.name for g in tested]
    place = names.index(reference) if reference in names else None
    values = [g.values for g in tested]
    try:
        pairwise = welch_pairs(values, level, reference=place)
    except MethodError as error:
        why = (
            str(error)
            if len(tested) > 1
            else "Fewer than two groups have two or more electrodes, so nothing is tested."
        )
        groups = tuple(_group(g, level) for g in tested)
        return Comparison(
            **base,
            groups=groups,
            pairs=(),
            test="none",
            reason=why,
            apart=apart,
            missing=samples.missing,
            notes=tuple(notes),
        )
    claims = pairwise.claims()
    marks = letters([float(v.mean()) for v in values], claims) if place is None else ("",) * len(names)
    others = alternatives(values, names, claims, level) if place is None else ()
    numbers = tuple(len(v) for v in values)
    alpha = family_alpha(1 - level, numbers, every_pair(len(numbers), place))
    groups = tuple(_group(g, level, mark) for g, mark in zip(tested, marks, strict=True))
    return Comparison(
        **base,
        groups=groups,
        pairs=tuple(_pair(p, groups, alpha, margin, level) for p in pairwise),
        test=pairwise.method,
        reason=REASON,
        reference=reference if place is not None else "",
        overall=_overall(values),
        alternatives=others,
        depends=any(a.able and (a.adds or a.takes) for a in others),
        spread=_spread(values),
        normality=_normality(values),
        apart=apart,
        missing=samples.missing,
        notes=tuple(notes),
    )


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
    pair: Pair, groups: Sequence[GroupResult], alpha: float, margin: Margin | None, level: float
) -> PairResult:
    first, second = groups[pair.first], groups[pair.second]
    ratio = mean_ratio(first.mean, second.mean, alpha)
    limit = margin.of(first.mean.value, second.mean.value) if margin is not None else None
    test = equivalence(pair.difference, limit, 1 - level) if limit else None
    sought = limit or abs(pair.difference.value)
    design = Design(s1=first.s, s2=second.s, n1=first.n, n2=second.n)
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
        needed=groups_needed(sought, first.s, second.s, alpha) if math.isfinite(sought) else None,
        margin=limit,
        same=test.same if test else None,
        p_same=test.p if test else None,
    )


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
