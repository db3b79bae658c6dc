"""The control study: are all steps of the recipe needed?"""

from __future__ import annotations

import math
from collections import defaultdict
from typing import TYPE_CHECKING, Any

from halfcell.errors import MethodError, Problem
from halfcell.pipeline.outcome import Exhibit, Outcome
from halfcell.results import Measured
from halfcell.statistics.factorial import Factorial, factorial
from halfcell.units import percent

if TYPE_CHECKING:
    from halfcell.finding import Finding, Findings
    from halfcell.pipeline.bench import Bench


def control_study(bench: Bench, findings: Findings) -> Outcome:
    """Effects of the recipe's steps on the response, for every set of factors that was varied."""
    found, exhibits, problems = [], [], []
    for factors, electrodes in _studies(bench).items():
        values, runs = _values(findings, electrodes)
        cells: dict[tuple[bool, ...], list[float]] = defaultdict(list)
        for name, value in values.items():
            made = bench.study.electrode(name).factors
            cells[tuple(made[f] for f in factors)].append(value.value)
        try:
            result = factorial(factors, cells, level=bench.confidence)
        except MethodError as error:
            problems.append(
                Problem(file="study.toml", place="electrodes.*.factors", what=str(error), severity="warning")
            )
            continue
        found += _findings(bench, result, factors, runs)
        exhibits.append(_exhibit(bench, findings, result, factors, values))
    return Outcome(findings=tuple(found), exhibits=tuple(exhibits), problems=tuple(problems))


def _studies(bench: Bench) -> dict[tuple[str, ...], list[str]]:
    """Sets of factors with the electrodes to compare: variants, and the whole recipe of the same metal.

    The variants that leave a step out belong to one metal; of the electrodes with all steps done
    those count that share the variants' deposition data (electrons and molar mass) or, failing
    that, the one material whose name begins a variant's.
    """
    file = bench.study.file
    by_factors: dict[tuple[str, ...], list[str]] = defaultdict(list)
    for name, made in file.electrodes.items():
        if made.factors:
            by_factors[tuple(sorted(made.factors))].append(name)
    studies = {}
    for factors, names in by_factors.items():
        left_out = [n for n in names if not all(file.electrodes[n].factors.values())]
        whole = [n for n in names if n not in left_out]
        if not left_out or not whole:
            continue
        metals = {file.electrodes[n].molar_mass for n in left_out if file.electrodes[n].molar_mass}
        same = [n for n in whole if file.electrodes[n].molar_mass in metals]
        if not same:
            words = {file.electrodes[n].material for n in left_out}
            same = [n for n in whole if any(w.startswith(file.electrodes[n].material) for w in words)]
        studies[factors] = left_out + (same or whole)
    return studies


def _values(findings: Findings, electrodes: list[str]) -> tuple[dict[str, Measured], tuple[str, ...]]:
    values, files = {}, []
    for name in electrodes:
        for finding in findings.named("response_current", electrode=name, condition=""):
            if math.isfinite(finding.value):
                values[name] = finding.measured().times(1e-6)
                files += list(finding.recordings)
    return values, tuple(dict.fromkeys(files))


def _findings(
    bench: Bench, result: Factorial, factors: tuple[str, ...], files: tuple[str, ...]
) -> list[Finding]:
    runs = tuple(r for r in bench.study.runs if r.file in set(files))
    cells = tuple(
        f"{_words(factors, c.levels)}: {c.mean.value * 1e6:.3g} ± {c.mean.u * 1e6:.2g} µA (n = {c.n})"
        for c in result.cells
    )
    found = []
    for effect in result.effects:
        note = f"{effect.interval.low * 1e6:.3g} to {effect.interval.high * 1e6:.3g} µA at {percent(effect.interval.level)}"
        found.append(
            bench.finding(
                "effect_on_response",
                effect.effect,
                method="two-level effects",
                condition=effect.name,
                runs=runs,
                notes=(note, *cells),
            )
        )
    word = "shown" if result.needed else "not shown"
    found.append(
        bench.finding(
            "steps_needed", Measured(value=math.nan, why=result.because), method="two-level effects", condition=" and ".join(factors), text=word, runs=runs,
            settings={"level": result.level}, notes=cells,
        )
    )  # fmt: skip
    return found


def _words(factors: tuple[str, ...], levels: tuple[bool, ...]) -> str:
    done = [f for f, on in zip(factors, levels, strict=True) if on]
    return " + ".join(done) if done else "neither" if len(factors) == 2 else "none of the steps"


def _exhibit(
    bench: Bench, findings: Findings, result: Factorial, factors: tuple[str, ...], values: dict[str, Measured]
) -> Exhibit:
    points: list[dict[str, Any]] = []
    for name, value in values.items():
        made = bench.study.electrode(name).factors
        points.append(_point(findings, name, _words(factors, tuple(made[f] for f in factors)), value))
    for name, other in bench.study.file.electrodes.items():
        if other.role in {"bare", "bulk"}:
            of = findings.named("response_current", electrode=name, condition="")
            if of and math.isfinite(of[0].value):
                points.append(_point(findings, name, other.material, of[0].measured().times(1e-6)))
    data = {
        "factors": list(factors),
        "cells": [
            {"cell": _words(factors, c.levels), "mean": c.mean.value, "u": c.mean.u, "n": c.n}
            for c in result.cells
        ],
        "points": points,
        "effects": [
            {"name": e.name, "effect": e.effect.value, "low": e.interval.low, "high": e.interval.high}
            for e in result.effects
        ],
        "level": result.level,
        "verdict": "shown" if result.needed else "not shown",
        "because": result.because,
        "units": {"mean": "A", "effect": "A"},
    }
    return Exhibit(
        kind="controls",
        key=f"controls {' '.join(factors)}",
        title="The recipe's steps, left out one by one",
        place="Responds",
        data=data,
    )


def _point(findings: Findings, name: str, cell: str, value: Measured) -> dict[str, Any]:
    words = findings.named("response_class", electrode=name, condition="")
    return {
        "electrode": name,
        "cell": cell,
        "value": value.value,
        "u": value.u,
        "word": words[0].text if words else "",
    }
