"""Findings as tables for people: the words, numbers and units of every table in report and terminal."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

from halfcell.report.blocks import Table
from halfcell.units import number, pretty, with_uncertainty
from halfcell.vocabulary import TERMS

if TYPE_CHECKING:
    from halfcell.finding import Finding

__all__ = ["PLACES", "by_electrode", "findings_table", "heading", "label", "place_of", "shown_value"]

PLACES = ("Made", "Responds", "Quantifies", "Confounds", "Chooses", "Explains", "Plans")
"""The questions a finding can answer, in order."""


def place_of(finding: Finding) -> str:
    """The question a finding answers; "Chooses" for a name without a term."""
    term = TERMS.get(finding.name)
    return term.place if term and term.place in PLACES else "Chooses"


def label(name: str) -> str:
    """The words for a finding's name."""
    term = TERMS.get(name)
    return term.label if term else name.replace("_", " ")


def heading(name: str, unit: str | None = None) -> str:
    """The words for a finding's name with its unit, as a table's head says it: "sensitivity / µA mM⁻¹"."""
    term = TERMS.get(name)
    shown = pretty(unit if unit is not None else (term.unit if term else "1"))
    return f"{label(name)} / {shown}" if shown else label(name)


def shown_value(finding: Finding, *, unit: bool = True) -> str:
    """A finding's value with its standard uncertainty; a word with its probability."""
    if finding.text:
        p = finding.value
        return f"{finding.text} (p = {number(p)})" if math.isfinite(p) and p < 1 else finding.text
    if finding.unit == "1" and not finding.standard_uncertainty > 0 and finding.value.is_integer():
        return f"{finding.value:.0f}"
    return with_uncertainty(finding.value, finding.standard_uncertainty, finding.unit if unit else "")


def findings_table(title: str, findings: Iterable[Finding], *, folded: bool = False) -> Table:
    """Every finding a row: what, whom it is about, condition, value with unit, degrees of freedom."""
    rows = []
    for f in findings:
        df = number(f.degrees_of_freedom) if math.isfinite(f.degrees_of_freedom) else ""
        rows.append((label(f.name), f.electrode or f.group or "study", f.condition, shown_value(f), df))
    head = (
        "finding",
        "electrode or group",
        "condition",
        "value ± standard uncertainty",
        "degrees of freedom",
    )
    return Table(title=title, head=head, rows=tuple(rows), folded=folded)


def by_electrode(
    title: str,
    findings: Iterable[Finding],
    names: Iterable[str],
    *,
    note: str = "",
    folded: bool = False,
    keep: Callable[[Finding], bool] = lambda _: True,
) -> Table:
    """One row an electrode, one column a finding (with its unit in the head), for findings of one value each.

    Where an electrode has several findings of a name, each condition has its own column.
    """
    wanted = tuple(names)
    chosen = [f for f in findings if f.name in wanted and f.electrode and keep(f)]
    columns = sorted({(wanted.index(f.name), f.name, f.condition) for f in chosen})
    units = {f.name: f.unit for f in chosen}
    cells = {(f.electrode, f.name, f.condition): shown_value(f, unit=False) for f in chosen}
    groups = {f.electrode: f.group for f in chosen}
    head = [
        heading(name, units[name]) + (f" ({condition})" if condition else "")
        for _, name, condition in columns
    ]
    rows = tuple(
        (electrode, group, *(cells.get((electrode, name, condition), "–") for _, name, condition in columns))
        for electrode, group in groups.items()
    )
    return Table(title=title, head=("electrode", "group", *head), rows=rows, note=note, folded=folded)
