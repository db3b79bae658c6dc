"""From the table of findings to groups of electrodes: one value an electrode.

Several findings of one name on one electrode (fields of a surface, repeats) are parts of that
electrode, not further electrodes: they are averaged, so that the number of independent values
is the number of electrodes.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.results import read_only
from halfcell.vocabulary import TERMS

if TYPE_CHECKING:
    from halfcell.finding import Finding, Findings
    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """One electrode: its value with standard uncertainty, and the findings it is the mean of."""

    electrode: str
    value: float
    u: float
    df: float
    batch: str = ""
    text: str = ""
    parts: FloatArray
    findings: tuple[str, ...]
    recordings: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Electrodes that are alike in the attribute compared by."""

    name: str
    samples: tuple[Sample, ...]

    @property
    def values(self) -> FloatArray:
        """(n,) array, one value an electrode."""
        return read_only([s.value for s in self.samples])

    @property
    def batches(self) -> tuple[str, ...]:
        """The batch of each electrode, "" where unknown."""
        return tuple(s.batch for s in self.samples)


@dataclass(frozen=True, slots=True, kw_only=True)
class Samples:
    """A finding by groups; ``apart`` holds electrodes of other roles, ``missing`` why some have no value."""

    finding: str
    condition: str
    unit: str
    by: str
    groups: tuple[Group, ...]
    apart: tuple[Group, ...] = ()
    missing: tuple[str, ...] = ()

    def group(self, name: str) -> Group | None:
        """The group of a name among those compared, or None."""
        return next((g for g in self.groups if g.name == name), None)


def shared_conditions(findings: Sequence[Finding]) -> tuple[str, ...]:
    """Conditions that tell different things apart: those that occur on two or more electrodes.

    Conditions that occur on one electrode only (the name of a field) are repeats. Where no
    condition is shared, all findings of an electrode are its repeats: ("",). The conditions of what
    confounds name other species, which are never repeats of each other.
    """
    if any(f.name in TERMS and TERMS[f.name].place == "Confounds" for f in findings):
        return tuple(dict.fromkeys(f.condition for f in findings))
    seen = Counter(c for c, _ in {(f.condition, f.electrode) for f in findings})
    return tuple(c for c in dict.fromkeys(f.condition for f in findings) if seen[c] > 1) or ("",)


def gather(
    findings: Findings,
    name: str,
    *,
    by: str = "material",
    condition: str | None = None,
    roles: tuple[str, ...] = ("candidate",),
) -> Samples:
    """The values of a finding, one an electrode, in groups of the attribute ``by``.

    ``condition`` None takes all findings of the name as repeats, as does a name of which no
    condition is shared between electrodes; otherwise only those of the condition. Electrodes whose
    role is not among ``roles`` come apart, in groups named "role, group".
    """
    rows = [f for f in findings.named(name) if f.electrode]
    exact = bool(condition) and any(f.condition == condition for f in rows)
    if condition is not None and (exact or shared_conditions(rows) != ("",)):
        rows = [f for f in rows if f.condition == condition]
    by_electrode: dict[str, list[Finding]] = {}
    for row in rows:
        by_electrode.setdefault(row.electrode, []).append(row)
    compared: dict[str, list[Sample]] = {}
    apart: dict[str, list[Sample]] = {}
    missing: list[str] = []
    for electrode, parts in by_electrode.items():
        known = findings.attributes.get(electrode, {})
        group = known.get(by) or (parts[0].group if by == "material" else "")
        role = known.get("role", "candidate")
        sample = _sample(electrode, parts, known)
        if not group:
            missing.append(f"{electrode}: its {by} is not stated")
        elif math.isnan(sample.value) and not sample.text:
            missing.append(f"{electrode}: {next((n for f in parts for n in f.notes), 'no value')}")
        elif role in roles:
            compared.setdefault(group, []).append(sample)
        else:
            apart.setdefault(f"{role}, {group}", []).append(sample)
    return Samples(
        finding=name,
        condition=condition or "",
        unit=rows[0].unit if rows else "1",
        by=by,
        groups=_groups(compared),
        apart=_groups(apart),
        missing=tuple(missing),
    )


def _groups(found: Mapping[str, list[Sample]]) -> tuple[Group, ...]:
    """Groups by name and electrodes by theirs: the order of a study's files changes no result."""
    return tuple(
        Group(name=name, samples=tuple(sorted(samples, key=lambda s: s.electrode)))
        for name, samples in sorted(found.items(), key=lambda item: (item[0].casefold(), item[0]))
    )


def _sample(electrode: str, rows: Sequence[Finding], known: Mapping[str, str]) -> Sample:
    good = [f for f in rows if math.isfinite(f.value)]
    values = np.array([f.value for f in good])
    words = Counter(f.text for f in rows if f.text)
    value, u, df = math.nan, math.nan, math.inf
    if len(good) == 1:
        value, u, df = good[0].value, good[0].standard_uncertainty, good[0].degrees_of_freedom
    elif len(good) > 1:
        value, df = float(values.mean()), len(good) - 1
        u = float(values.std(ddof=1)) / math.sqrt(len(good))
    return Sample(
        electrode=electrode,
        value=value,
        u=u,
        df=df,
        batch=known.get("batch", ""),
        text=words.most_common(1)[0][0] if words else "",
        parts=read_only(values),
        findings=tuple(f.key for f in rows),
        recordings=tuple(dict.fromkeys(r for f in rows for r in f.recordings)),
    )
