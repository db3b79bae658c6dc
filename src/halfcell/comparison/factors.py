"""A finding compared by several attributes at once: what each does, and whether they act together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from halfcell.comparison.samples import gather
from halfcell.errors import MethodError
from halfcell.statistics.groups_factorial import Factorial, factorial

if TYPE_CHECKING:
    from collections.abc import Sequence

    from halfcell.finding import Findings


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FactorComparison:
    """Effects of attributes on a finding. ``n`` electrodes; the table is in ``found``."""

    finding: str
    condition: str
    unit: str
    by: tuple[str, ...]
    level: float
    n: int
    found: Factorial
    notes: tuple[str, ...] = ()


def compare_factors(
    findings: Findings,
    name: str,
    by: Sequence[str],
    *,
    condition: str | None = None,
    roles: tuple[str, ...] = ("candidate", "control"),
    level: float = 0.95,
) -> FactorComparison:
    """Factorial analysis of variance of a finding over electrodes by two or more attributes.

    Interactions of two are tested where every combination was made; else main effects only, which is
    said. Equal variances are assumed. Raises MethodError where an attribute has one level.
    """
    samples = gather(findings, name, by=by[0], condition=condition, roles=roles)
    rows = [s for g in samples.groups for s in g.samples]
    labels = {a: [findings.attributes.get(s.electrode, {}).get(a, "") for s in rows] for a in by}
    known = [i for i in range(len(rows)) if all(labels[a][i] for a in by)]
    if not known:
        raise MethodError(f"No electrode has a value of {name!r} and states {', '.join(by)}.")
    values = [rows[i].value for i in known]
    factors = {a: [labels[a][i] for i in known] for a in by}
    notes = ["all groups are assumed to scatter alike"]
    try:
        found = factorial(values, factors, level=level)
    except MethodError as error:
        if "not measured" not in str(error):
            raise
        found = factorial(values, factors, interactions=False, level=level)
        notes.append(
            "not every combination was made, so that whether the attributes act together cannot be told"
        )
    return FactorComparison(
        finding=name,
        condition=condition or "",
        unit=samples.unit,
        by=tuple(by),
        level=level,
        n=len(known),
        found=found,
        notes=tuple(notes),
    )
