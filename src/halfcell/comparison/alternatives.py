"""The other methods that could have been used, and whether they claim the same."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from halfcell.comparison.result import Alternative
from halfcell.errors import MethodError
from halfcell.statistics.families import Pairwise
from halfcell.statistics.games_howell import games_howell
from halfcell.statistics.groups_anova import one_way
from halfcell.statistics.ranks import kruskal_wallis, rank_pairs, smallest_p
from halfcell.statistics.tukey import tukey
from halfcell.statistics.welch import welch_anova
from halfcell.statistics.welch_pairs import welch_steps

if TYPE_CHECKING:
    from halfcell.results import FloatArray


def alternatives(
    groups: Sequence[FloatArray], names: Sequence[str], claims: frozenset[tuple[int, int]], level: float
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
    return tuple(out)


def _against(
    pairwise: Pairwise, names: Sequence[str], claims: frozenset[tuple[int, int]], p: float | None, note: str
) -> Alternative:
    found = pairwise.claims()
    return Alternative(
        method=pairwise.method,
        p=p,
        adds=tuple(f"{names[i]} − {names[j]}" for i, j in sorted(found - claims)),
        takes=tuple(f"{names[i]} − {names[j]}" for i, j in sorted(claims - found)),
        note=note,
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
