"""Checks of the names that rows and tables use for one another."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from halfcell.errors import Problem
from halfcell.study.draft import RUNS, STUDY, Draft
from halfcell.study.words import meant

_BESIDE_SOLUTION = {"micrograph", "deposition"}


def check_names(draft: Draft) -> Iterator[Problem]:
    """Every name that points at nothing."""
    yield from _rows(draft)
    if draft.toml.document:
        yield from _solutions(draft)
        yield from _grouping(draft)


def _rows(draft: Draft) -> Iterator[Problem]:
    if not draft.toml.document:
        return
    for column, kind, example in (
        ("electrode", "electrodes", '[electrodes.{}]  material = "nickel"  area = "0.0707 cm^2"'),
        ("solution", "solutions", '[solutions.{}]  description = "0.1 M NaOH"'),
    ):
        known = draft.names(kind)
        for row in draft.rows:
            name = row.cells.get(column, "")
            if name and name != "?" and name not in known:
                shown = example.format(
                    name if name.replace("-", "").replace("_", "").isalnum() else f'"{name}"'
                )
                what = f"{name!r} is not in [{kind}] of study.toml; {meant(name, known)}"
                yield Problem(
                    file=RUNS, place=draft.at(row, column), what=what, example=known[0] if known else shown
                )
    solutions = draft.names("solutions")
    for row in draft.rows:
        run = draft.runs.get(row.number)
        if run is not None and not run.solution and run.technique not in _BESIDE_SOLUTION and solutions:
            what = "names no solution, so blanks and confounders cannot be matched."
            yield Problem(
                file=RUNS,
                place=draft.at(row, "solution"),
                what=what,
                example=solutions[0],
                severity="warning",
            )
    used = {row.cells.get("electrode", "") for row in draft.rows}
    for name in draft.names("electrodes"):
        if draft.rows and name not in used:
            place = draft.toml.place(f"electrodes.{name}")
            yield Problem(
                file=STUDY,
                place=place,
                what=f"no row of runs.csv names the electrode {name!r}.",
                severity="warning",
            )


def tables(draft: Draft, kind: str) -> Iterator[tuple[str, dict[str, Any]]]:
    """The tables [KIND.NAME] of study.toml with their names, as they stand."""
    part = draft.toml.document.get(kind)
    for name, table in part.items() if isinstance(part, dict) else ():
        if isinstance(table, dict):
            yield name, table


def _solutions(draft: Draft) -> Iterator[Problem]:
    confounders = draft.names("confounders")
    for name, table in tables(draft, "solutions"):
        place = draft.toml.place(f"solutions.{name}")
        other = table.get("confounder")
        if isinstance(other, str) and other and other not in confounders:
            what = f"the confounder {other!r} is not in [confounders]; {meant(other, confounders)}"
            yield Problem(
                file=STUDY,
                place=draft.toml.place(f"solutions.{name}.confounder"),
                what=what,
                example=f'[confounders.{other}]  level = "0.25 mmol/L"',
            )
        if other and table.get("confounder_concentration") is None:
            yield Problem(
                file=STUDY,
                place=place,
                what="names a confounder without its concentration.",
                example='confounder_concentration = "0.1 mmol/L"',
            )
        if table.get("oxygen") == "stated" and table.get("oxygen_concentration") is None:
            yield Problem(
                file=STUDY,
                place=place,
                what='oxygen is "stated" but its concentration is missing.',
                example='oxygen_concentration = "0.25 mmol/L"',
            )


def _grouping(draft: Draft) -> Iterator[Problem]:
    from halfcell.study.model import Electrode

    known = ["material", "role", "recipe", "batch", "area"]
    groups: set[str] = set()
    by = draft.toml.document.get("group_by", "material")
    for _, table in tables(draft, "electrodes"):
        for part in ("factors", "attributes"):
            inner = table.get(part)
            known += [k for k in (inner if isinstance(inner, dict) else ()) if k not in known]
            if isinstance(inner, dict) and by in inner:
                groups.add(str(inner[by]))
        if by in table and by in Electrode.model_fields:
            groups.add(str(table[by]))
    if isinstance(by, str) and by not in known:
        what = f"{by!r} is no attribute of an electrode; {meant(by, known)}"
        yield Problem(
            file=STUDY, place=draft.toml.place("group_by"), what=what, example='group_by = "material"'
        )
    comparison = draft.toml.document.get("comparison")
    reference = comparison.get("reference") if isinstance(comparison, dict) else None
    if (
        isinstance(reference, str)
        and reference
        and groups
        and by in known
        and reference not in groups | {"yes", "no"}
    ):
        what = f"{reference!r} is not one of the groups; {meant(reference, sorted(groups))}"
        yield Problem(
            file=STUDY,
            place=draft.toml.place("comparison.reference"),
            what=what,
            example=f'reference = "{min(groups)}"',
        )
