"""How well does it quantify? Calibrations, sensitivities, limits, ranges, speed, precision."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from halfcell.report.blocks import Block, Part, Picture, Section, Table, Text
from halfcell.report.tables import by_electrode, label
from halfcell.units import number, with_uncertainty

if TYPE_CHECKING:
    from halfcell.finding import Finding
    from halfcell.pipeline.outcome import Analysis, Exhibit

_MERITS = (
    "sensitivity",
    "sensitivity_per_area",
    "sensitivity_per_real_area",
    "sensitivity_per_mass",
    "intercept",
    "residual_sd",
)
_LIMITS = ("limit_of_detection", "limit_of_quantification", "decision_limit_iso", "detection_limit_iso")
_RANGE = ("linearity", "linear_range_low", "linear_range_high", "response_time")
_BY_KIND = ("decision_limit", "detection_limit", "quantification_limit")
_SAMPLES = ("content", "content_by_addition", "recovery")
_STABLE = ("repeatability", "retention", "storage_retention")
_OF_GROUP = ("mean_sensitivity", "between_electrode_rsd", "between_batch_rsd")


def part(analysis: Analysis) -> Part:
    """The part "Quantifies"."""
    found = [f for f in analysis.findings if f.electrode or f.group]
    sections = [
        _calibrations(analysis, found),
        _limits(analysis, found),
        _groups(found),
        _samples(found),
        _records(analysis),
    ]
    return Part(
        place="Quantifies",
        question="How well does it quantify?",
        sections=tuple(s for s in sections if s.blocks),
    )


def _calibrations(analysis: Analysis, found: list[Finding]) -> Section:
    main = [f for f in found if not f.condition]
    blocks: list[Block] = []
    if not any(f.name == "sensitivity" for f in found):
        text = "No calibration could be made: there are no additions, potential steps or peaks at three levels or more on any electrode."
        return Section(title="Calibrations", blocks=(Text(text=text, tone="note"),))
    blocks.append(Text(text=_rule(found)))
    blocks += [_picture(e, _CAPTION) for e in analysis.shown("Quantifies", "calibrations")]
    blocks.append(
        by_electrode(
            "Sensitivities",
            main,
            _MERITS,
            note="Value ± standard uncertainty. Sensitivities are positive in the direction of the material's response.",
        )
    )
    blocks.append(by_electrode("Linear range and response time", main, _RANGE))
    others = [f for f in found if f.name == "sensitivity" and f.condition]
    if others:
        rows = tuple(
            (f.electrode, f.condition, with_uncertainty(f.value, f.standard_uncertainty, f.unit))
            for f in others
        )
        blocks.append(
            Table(
                title="Sensitivities from other records",
                head=("electrode", "records", "sensitivity"),
                rows=rows,
                folded=True,
            )
        )
    blocks += [
        _picture(
            e,
            "Points, line with its confidence (dark) and prediction (light) band, and residuals.",
            folded=True,
        )
        for e in analysis.shown("Quantifies", "calibration")
    ]
    return Section(title="Calibrations", blocks=tuple(blocks))


_CAPTION = "One marker an electrode; open markers lie outside the linear range. Below: residuals over their standard deviation."


def _rule(found: list[Finding]) -> str:
    kinds = list(
        dict.fromkeys(
            str(f.settings.get("records", "")) for f in found if f.name == "sensitivity" and not f.condition
        )
    )
    listed = " and ".join(k for k in kinds if k)
    return f"The main calibration of each electrode is that from {listed}, in a solution without a known confounder; every number below without a condition comes from it."


def _matrix(rows: list[Finding]) -> Table:
    """Electrodes down, definitions across; marked where something a definition needs does not hold."""
    columns = list(dict.fromkeys((f.name, f.condition) for f in rows))
    cells = {
        (f.electrode, f.name, f.condition): number(f.value) + (" *" if f.settings.get("fails", ()) else "")
        for f in rows
    }
    lines = tuple(
        (electrode, *(cells.get((electrode, *column), "–") for column in columns))
        for electrode in dict.fromkeys(f.electrode for f in rows)
    )
    return Table(
        title="Every definition side by side",
        head=("electrode", *(f"{label(name)}, {condition} / µM" for name, condition in columns)),
        rows=lines,
        note="* something this definition needs does not hold here: the next table says what.",
    )


def _limits(analysis: Analysis, found: list[Finding]) -> Section:
    main = [f for f in found if not f.condition and f.name in _LIMITS]
    blocks: list[Block] = []
    if main:
        definitions = list(
            dict.fromkeys(f.method for f in main if f.name == "limit_of_detection" and math.isfinite(f.value))
        )
        if definitions:
            blocks.append(
                Text(
                    text=f"The limit of detection that is compared is that by {' and '.join(definitions)}. Definitions differ by up to a factor of two or more on the same data; all are given below, with what each needs and whether it holds."
                )
            )
        blocks.append(by_electrode("Limits", main, _LIMITS))
        silent = [f for f in main if f.name == "limit_of_detection" and not math.isfinite(f.value)]
        blocks += [
            Text(text=f"{f.electrode}: {f.notes[0] if f.notes else 'no limit'}.", tone="note") for f in silent
        ]
    rows = [f for f in found if f.name in _BY_KIND]
    if rows:
        head = (
            "electrode",
            "definition",
            "kind",
            "limit / µM",
            "95 % interval / µM" if all(f.settings.get("level") == 0.95 for f in rows) else "interval / µM",
            "does not hold here",
        )
        table = tuple(
            (
                f.electrode,
                f.condition,
                label(f.name),
                number(f.value),
                _between(f.settings),
                "; ".join(f.settings.get("fails", ())) or "–",
            )
            for f in rows
        )
        blocks.append(_matrix(rows))
        blocks.append(
            Table(
                title="Each definition with its interval and what does not hold",
                head=head,
                rows=table,
                folded=True,
            )
        )
    blocks += [
        _picture(
            e,
            "Limits by every definition with their intervals; open where something the definition needs does not hold.",
            folded=True,
        )
        for e in analysis.shown("Quantifies", "detection limits")
    ]
    return Section(title="Limits", blocks=tuple(blocks))


def _between(settings: Any) -> str:
    low, high = settings.get("interval low"), settings.get("interval high")
    if low is None or high is None:
        return "–"
    return f"{number(low)} … {number(high)}"


def _groups(found: list[Finding]) -> Section:
    rows = [f for f in found if f.name in _OF_GROUP and not f.electrode]
    blocks: list[Block] = []
    if rows:
        table = tuple(
            (
                f.group,
                label(f.name),
                with_uncertainty(f.value, f.standard_uncertainty, f.unit),
                _between(f.settings) if "rsd" in f.name else "",
                str(f.settings.get("electrodes", "")),
            )
            for f in rows
        )
        blocks.append(
            Table(
                title="Electrodes of a group together",
                head=("group", "finding", "value ± standard uncertainty", "interval / %", "electrodes"),
                rows=table,
            )
        )
    stable = [f for f in found if f.name in _STABLE]
    if stable:
        blocks.append(by_electrode("Precision and stability", stable, _STABLE))
    return Section(title="Precision", blocks=tuple(blocks))


def _samples(found: list[Finding]) -> Section:
    rows = [f for f in found if f.name in _SAMPLES]
    if not rows:
        return Section(title="Samples", blocks=())
    table = tuple(
        (
            f.electrode,
            f.condition,
            label(f.name),
            with_uncertainty(f.value, f.standard_uncertainty, f.unit),
            _between(f.settings),
            "; ".join(f.notes),
        )
        for f in rows
    )
    return Section(
        title="Samples",
        blocks=(
            Table(
                title="Samples",
                head=("electrode", "sample", "finding", "value", "interval", "notes"),
                rows=table,
            ),
        ),
    )


def _records(analysis: Analysis) -> Section:
    traces = [
        _picture(
            e,
            "The record, the additions (dotted), steps that no log explains (dashed) and the plateaus that were read.",
            folded=True,
        )
        for e in analysis.shown("Quantifies", "additions trace")
    ]
    steps = [
        _picture(
            e,
            "Left: the current after the step and the window averaged. Right: the same against 1/√t.",
            folded=True,
        )
        for e in analysis.shown("Quantifies", "sampled steps")
    ]
    return Section(title="Records", blocks=(*traces, *steps), folded=True)


def _picture(exhibit: Exhibit, caption: str, *, folded: bool = False) -> Picture:
    return Picture(exhibit=exhibit, caption=f"{exhibit.title}. {caption}", alt=exhibit.title, folded=folded)
