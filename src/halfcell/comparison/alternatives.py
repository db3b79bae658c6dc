"""The other methods that could have been used, and whether they claim the same."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from halfcell.comparison.result import Alternative
from halfcell.errors import MethodError
from halfcell.results import coverage_factor
from halfcell.statistics.dunnett import dunnett
from halfcell.statistics.families import Pair, Pairwise, family
from halfcell.statistics.games_howell import games_howell
from halfcell.statistics.groups_anova import one_way
from halfcell.statistics.groups_mixed import mixed
from halfcell.statistics.permutation import permutation_pairs
from halfcell.statistics.ranks import kruskal_wallis, rank_pairs, smallest_p
from halfcell.statistics.resampling import bootstrap_ratio
from halfcell.statistics.tukey import tukey
from halfcell.statistics.welch import welch_anova
from halfcell.statistics.welch_pairs import welch_steps
from halfcell.statistics.welch_size import every_pair

if TYPE_CHECKING:
    from halfcell.comparison.samples import Group
    from halfcell.results import FloatArray


LIMITS = ("limit_of_detection", "limit_of_quantification", "detection_limit", "detection_limit_iso")
"""Skewed by nature: the scatter of a blank over a slope."""


def alternatives(
    groups: Sequence[FloatArray],
    names: Sequence[str],
    claims: frozenset[tuple[int, int]],
    level: float,
    finding: str = "",
) -> tuple[Alternative, ...]:
    """Each method with the pairs it adds to ``claims`` or takes from them."""
    tried = (
        (welch_steps, None, "it gives no intervals"),
        (
            games_howell,
            welch_anova,
            "its family-wise error exceeds the stated one below about six electrodes a group",
        ),
        (tukey, one_way, "it assumes that all groups scatter alike"),
    )
    out = []
    for method, overall, note in tried:
        try:
            pairwise = method(groups, level)
            p = overall(groups).p if overall is not None else None
        except MethodError:
            continue
        out.append(_against(pairwise, names, claims, p, note))
    out.append(_by_ranks(groups, names, claims, level))
    out += _by_labels(groups, names, claims, level)
    out += _by_resampling(groups, names, claims, level, finding)
    return tuple(out)


def against_reference(
    groups: Sequence[FloatArray],
    names: Sequence[str],
    place: int,
    claims: frozenset[tuple[int, int]],
    level: float,
    finding: str = "",
) -> tuple[Alternative, ...]:
    """Dunnett's method beside pairs with one reference, and for limits of detection the bootstrap."""
    limits = _by_resampling(groups, names, claims, level, finding, place) if finding in LIMITS else ()
    try:
        pairwise = dunnett(groups, place, level)
    except MethodError:
        return limits
    ordered = frozenset((min(i, j), max(i, j)) for i, j in pairwise.claims())
    return (
        _compared(pairwise.method, ordered, names, claims, None, "it assumes that all groups scatter alike"),
        *limits,
    )


def _against(
    pairwise: Pairwise, names: Sequence[str], claims: frozenset[tuple[int, int]], p: float | None, note: str
) -> Alternative:
    return _compared(pairwise.method, pairwise.claims(), names, claims, p, note)


def _compared(
    method: str,
    found: frozenset[tuple[int, int]],
    names: Sequence[str],
    claims: frozenset[tuple[int, int]],
    p: float | None,
    note: str,
) -> Alternative:
    return Alternative(
        method=method,
        p=p,
        adds=tuple(f"{names[i]} − {names[j]}" for i, j in sorted(found - claims)),
        takes=tuple(f"{names[i]} − {names[j]}" for i, j in sorted(claims - found)),
        note=note,
    )


def _by_labels(
    groups: Sequence[FloatArray], names: Sequence[str], claims: frozenset[tuple[int, int]], level: float
) -> tuple[Alternative, ...]:
    """Permutation of electrodes, where few enough for all relabelings to be gone through."""
    sizes = sorted((len(g) for g in groups), reverse=True)
    total = math.comb(sizes[0] + sizes[1], sizes[1])
    if total > 20_000:
        return ()
    least = (2 if sizes[0] == sizes[1] else 1) / total
    m = len(groups) * (len(groups) - 1) // 2
    if least * m > 1 - level:
        note = f"with {sizes[0]} and {sizes[1]} electrodes its p value cannot fall below {least:.2g} a pair, so it could not show a difference"
        return (Alternative(method="Permutation of electrodes for every pair, Holm", able=False, note=note),)
    try:
        pairwise = permutation_pairs(groups, level, np.random.default_rng(0))
    except MethodError:
        return ()
    return (_against(pairwise, names, claims, None, "it assumes no distribution"),)


def _by_resampling(
    groups: Sequence[FloatArray],
    names: Sequence[str],
    claims: frozenset[tuple[int, int]],
    level: float,
    finding: str = "",
    place: int | None = None,
) -> tuple[Alternative, ...]:
    """Ratios of geometric means by bootstrap of electrodes, for positive values such as limits of detection."""
    what = "Ratios of limits" if finding in LIMITS else "Ratios"
    method = f"{what} by bootstrap of electrodes, Bonferroni"
    if min(float(g.min()) for g in groups) <= 0:
        note = "a limit that is not above zero has no ratio"
        return (Alternative(method=method, able=False, note=note),) if finding in LIMITS else ()
    if min(len(g) for g in groups) < 5:
        note = "fewer than five electrodes in a group cannot show the tails it resamples"
        return (Alternative(method=method, able=False, note=note),)
    rng, pairs = np.random.default_rng(0), every_pair(len(groups), place)
    part = 1 - (1 - level) / len(pairs)
    found = frozenset(
        pair
        for pair in pairs
        if 1.0 not in bootstrap_ratio(groups[pair[0]], groups[pair[1]], rng, level=part).interval
    )
    return (
        _compared(
            method,
            found,
            names,
            claims,
            None,
            "for skewed values such as limits of detection; its intervals are somewhat too narrow",
        ),
    )


def _by_ranks(
    groups: Sequence[FloatArray], names: Sequence[str], claims: frozenset[tuple[int, int]], level: float
) -> Alternative:
    sizes = sorted((len(g) for g in groups), reverse=True)
    m = len(groups) * (len(groups) - 1) // 2
    least = smallest_p(sizes[0], sizes[1])
    pairwise, p = rank_pairs(groups, level), kruskal_wallis(groups).p
    if least * m <= 1 - level:
        return _against(pairwise, names, claims, p, "it uses the order of the values only")
    note = f"with {sizes[0]} and {sizes[1]} electrodes its p value cannot fall below {least:.2g} a pair, so it could not show a difference"
    return Alternative(method=pairwise.method, p=p, able=False, note=note)


def mixed_model(
    groups: Sequence[Group], claims: frozenset[tuple[int, int]], level: float
) -> tuple[Alternative, ...]:
    """A mixed model of all electrodes with batches as random, all groups scattering alike."""
    rows = [(i, s.batch, float(v)) for i, g in enumerate(groups) for s in g.samples for v in s.parts]
    design = np.eye(len(groups))[[i for i, _, _ in rows]]
    shared = len({b for _, b, _ in rows}) < sum(len(g.samples) for g in groups)
    levels = [b if shared else (i, b) for i, b, _ in rows]
    try:
        fit = mixed([v for _, _, v in rows], design, levels)
    except MethodError:
        return ()
    pairs = every_pair(len(groups))

    def one(i: int, j: int) -> Pair:
        gap = fit.contrast(design_row(len(groups), i, j))
        k = coverage_factor(1 - (1 - level) / len(pairs), gap.df)
        return Pair(
            first=i,
            second=j,
            difference=gap,
            p=float("nan"),
            low=gap.value - k * gap.u,
            high=gap.value + k * gap.u,
            different=abs(gap.value) > k * gap.u,
        )

    pairwise = family(len(groups), "Mixed model with random batches, Satterthwaite, Bonferroni", level, one)
    note = "it assumes that all groups scatter alike; its family-wise error reaches 10 % where they do not"
    return (_against(pairwise, [g.name for g in groups], claims, None, note),)


def design_row(k: int, i: int, j: int) -> FloatArray:
    """The contrast of group i less group j."""
    row = np.zeros(k)
    row[i], row[j] = 1.0, -1.0
    return row
