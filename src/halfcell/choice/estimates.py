"""What is known of each candidate for each criterion: the mean over its electrodes, with uncertainty."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.comparison.batches import ELECTRODES, batched, merged
from halfcell.comparison.samples import Group, Sample, gather, shared_conditions
from halfcell.errors import MethodError
from halfcell.results import Measured, coverage_factor, unknown

if TYPE_CHECKING:
    from halfcell.finding import Finding, Findings


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One finding under one condition ("" where it has none)."""

    finding: str
    condition: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """One candidate's value of one column: the mean over electrodes.

    ``within`` is the share of the scatter that the uncertainty of the single values explains;
    ``repeatable`` is False where only one electrode was measured, so that the scatter between
    electrodes is unknown. ``samples`` holds the electrodes, empty for a finding about the group.
    """

    candidate: str
    column: Column
    mean: Measured
    s: float
    n: int
    within: float
    repeatable: bool
    samples: tuple[Sample, ...] = ()
    findings: tuple[str, ...] = ()
    recordings: tuple[str, ...] = ()

    @property
    def known(self) -> bool:
        """Whether there is a value at all."""
        return math.isfinite(self.mean.value)


def candidates_of(findings: Findings, by: str) -> tuple[str, ...]:
    """The groups that may be chosen, in the order of their names (a file's order changes no result)."""
    names = [a.get(by, "") for a in findings.attributes.values() if a.get("role", "candidate") == "candidate"]
    if not findings.attributes:
        names = [f.group for f in findings if f.electrode]
    return tuple(sorted({n for n in names if n}, key=lambda n: (n.casefold(), n)))


def conditions_for(findings: Findings, name: str, condition: str | None) -> tuple[str, ...]:
    """The conditions of a finding that a criterion is about.

    A stated condition may be written in full or as the one part that tells it ("oxygen"). None:
    the finding without a condition where there is one, else all that electrodes share. Raises MethodError for one that no electrode has or that is ambiguous.
    """
    rows = findings.named(name)
    have = (
        shared_conditions([f for f in rows if f.electrode])
        if any(f.electrode for f in rows)
        else tuple(dict.fromkeys(f.condition for f in rows))
    )
    if condition is None or condition == "":
        return ("",) if "" in have else have or ("",)
    if condition in have or not rows or any(f.condition == condition for f in rows):
        return (condition,)
    close = [c for c in have if condition.casefold() in c.casefold()]
    if len(close) != 1:
        raise MethodError(
            f"{name!r} has no condition {condition!r}; it has {', '.join(repr(c) for c in have)}."
        )
    return (close[0],)


def estimate(
    findings: Findings, column: Column, candidates: Sequence[str], by: str, unit: str = ""
) -> dict[str, Estimate]:
    """The estimate of each candidate; a candidate without a value has an unknown one with the reason."""
    samples = gather(findings, column.finding, by=by, condition=column.condition)
    out = {}
    for name in candidates:
        group = samples.group(name)
        if group is not None:
            out[name] = from_samples(name, column, group.samples, unit)
            continue
        rows = [f for f in findings.named(column.finding) if not f.electrode and f.group == name]
        rows = [f for f in rows if f.condition == column.condition] or rows[:1]
        out[name] = (
            _from_group(name, column, rows[0])
            if rows
            else _nothing(name, column, samples.missing, findings, by)
        )
    return out


def from_samples(candidate: str, column: Column, samples: tuple[Sample, ...], unit: str = "") -> Estimate:
    """The mean over electrodes.

    Its uncertainty is the scatter between electrodes (Student's t, n − 1) or, where that is
    wider at 95 %, what the uncertainties of the single values alone would give. Where the electrodes
    come from several batches, batches are the independent values.
    """
    group = Group(name=candidate, samples=samples)
    if unit != ELECTRODES and batched(group):
        samples = merged(group).samples
    values = np.array([s.value for s in samples])
    u = np.array([s.u for s in samples])
    n, mean = len(samples), float(values.mean())
    own = u[np.isfinite(u)]
    inner = math.sqrt(float(np.mean(own**2))) if len(own) else 0.0
    base: dict[str, Any] = {
        "candidate": candidate,
        "column": column,
        "n": n,
        "samples": samples,
        "findings": tuple(k for s in samples for k in s.findings),
        "recordings": tuple(dict.fromkeys(r for s in samples for r in s.recordings)),
    }
    if n == 1:
        why = "one electrode: the scatter between electrodes is unknown"
        one = Measured(value=mean, u=samples[0].u, df=samples[0].df, why=why)
        return Estimate(**base, mean=one, s=math.nan, within=math.nan, repeatable=False)
    s = float(values.std(ddof=1))
    df_inner = sum(x.df for x in samples if math.isfinite(x.u)) if len(own) else math.inf
    outer = Measured(value=mean, u=s / math.sqrt(n), df=n - 1)
    alone = Measured(
        value=mean,
        u=inner / math.sqrt(n),
        df=df_inner,
        why="from the uncertainty of the single values, which exceeds their scatter",
    )
    wider = alone.u * coverage_factor(0.95, alone.df) > outer.u * coverage_factor(0.95, outer.df)
    share = min(1.0, inner**2 / s**2) if s > 0 else 1.0
    return Estimate(
        **base, mean=alone if wider else outer, s=max(s, inner) if wider else s, within=share, repeatable=True
    )


def _from_group(name: str, column: Column, row: Finding) -> Estimate:
    return Estimate(
        candidate=name,
        column=column,
        mean=row.measured(),
        s=math.nan,
        n=0,
        within=math.nan,
        repeatable=math.isfinite(row.standard_uncertainty),
        findings=(row.key,),
        recordings=row.recordings,
    )


def _nothing(name: str, column: Column, missing: tuple[str, ...], findings: Findings, by: str) -> Estimate:
    own = {e for e, a in findings.attributes.items() if a.get(by) == name}
    reasons = [m for m in missing if m.partition(":")[0] in own]
    return Estimate(
        candidate=name,
        column=column,
        mean=unknown("; ".join(reasons) or "not measured"),
        s=math.nan,
        n=0,
        within=math.nan,
        repeatable=False,
    )
