"""Responds: which variants respond, how well defined, are all steps needed, what controls the current, what it cost."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from halfcell.report.blocks import Block, Part, Picture, Section, Table, Text
from halfcell.report.parts._words import cell, joined, value_of
from halfcell.vocabulary import TERMS

if TYPE_CHECKING:
    from halfcell.finding import Finding
    from halfcell.pipeline.outcome import Analysis, Exhibit

_WORDS = {"peak": "a defined peak", "wave": "a wave without a peak", "none": "no response"}
_FEATURES = (
    "peak_potential",
    "peak_current",
    "half_peak_potential",
    "peak_width",
    "definition_ratio",
    "signal_to_noise",
)


def part(analysis: Analysis) -> Part:
    """The part of the report."""
    sections = (
        _which(analysis),
        _measured(analysis),
        _steps(analysis),
        _control(analysis),
        _cost(analysis),
        _areas(analysis),
        _deposited(analysis),
    )
    return Part(
        place="Responds",
        question="Which electrodes respond, how well defined is the response, and what did it cost in background?",
        sections=tuple(s for s in sections if s.blocks) or (_nothing(),),
    )


def _nothing() -> Section:
    text = "No voltammogram in a solution of the analyte, and no blank, could be judged: see the problems in the appendix."
    return Section(title="Nothing to judge", blocks=(Text(text=text, tone="caution"),))


def _main(analysis: Analysis, name: str) -> list[Finding]:
    return [f for f in analysis.findings.named(name, condition="") if f.electrode]


def _which(analysis: Analysis) -> Section:
    classes = _main(analysis, "response_class")
    blocks: list[Block] = []
    if classes:
        blocks.append(Text(text=_verdict(classes), tone="verdict"))
        rows = tuple(_row(analysis, f) for f in classes)
        head = (
            "Electrode",
            "Material",
            "Response",
            "Probability",
            *(TERMS[n].label + _unit(n) for n in _FEATURES),
        )
        at = str(classes[0].settings.get("condition", ""))
        note = "Value ± standard uncertainty; the uncertainty of a peak current includes the choice of its baseline."
        blocks.append(Table(title=f"Responses at {at}", head=head, rows=rows, note=note))
    for shown in analysis.shown("Responds", "responses"):
        caption = f"{shown.title}, at {shown.condition}. One line an electrode, one colour a material; dashed: a step left out; dotted: bare substrate; dash-dotted: bulk metal."
        blocks.append(Picture(exhibit=shown, caption=caption, alt=shown.title))
    return Section(title="Which electrodes respond", blocks=tuple(blocks))


def _verdict(classes: list[Finding]) -> str:
    sentences = []
    for group in dict.fromkeys(f.group for f in classes):
        of = [f for f in classes if f.group == group]
        counts = Counter(f.text for f in of)
        said = joined([f"{_WORDS.get(w, w)} on {k} of {len(of)} electrodes" for w, k in counts.most_common()])
        sentences.append(f"{group}: {said}")
    return ". ".join(s[0].upper() + s[1:] for s in sentences) + "."


def _row(analysis: Analysis, finding: Finding) -> tuple[str, ...]:
    features = [value_of(analysis, name, finding.electrode) for name in _FEATURES]
    share = "> 0.9999" if finding.value > 0.9999 else f"{finding.value:.3f}"
    return (finding.electrode, finding.group, finding.text, share, *features)


def _unit(name: str) -> str:
    from halfcell.units import pretty

    unit = pretty(TERMS[name].unit)
    return f" / {unit}" if unit else ""


def _measured(analysis: Analysis) -> Section:
    shown = analysis.shown("Responds", "voltammogram")
    blocks: list[Block] = []
    seen: set[str] = set()
    for exhibit in shown:
        blocks.append(
            Picture(
                exhibit=exhibit, caption=_caption(exhibit), alt=exhibit.title, folded=exhibit.group in seen
            )
        )
        seen.add(exhibit.group)
    return Section(title="How each response was measured", blocks=tuple(blocks), folded=False)


def _caption(exhibit: Exhibit) -> str:
    data = exhibit.data
    text = f"{exhibit.title}. Left: as recorded{' (grey: the blank)' if 'blank_potential' in data else ', no blank'}. "
    if "peak_potential" in data:
        return (
            text
            + "Right: the blank taken off, with the baseline through the shaded windows (dashed), the peak's height, its half height and the onset by the tangent."
            if data["subtracted"]
            else text + "Right: the branch with its baseline (dashed), the peak's height and its half height."
        )
    return text + f"Right: {data.get('reason') or 'no peak was measured'}; dashed: the most probable model."


def _steps(analysis: Analysis) -> Section:
    blocks: list[Block] = []
    for verdict in analysis.findings.named("steps_needed"):
        blocks.append(
            Text(
                text=f"That {verdict.condition} are needed together is {verdict.text}: {verdict.notes[0]}.",
                tone="verdict",
            )
        )
        rows = tuple((note.split(": ")[0], note.split(": ", 1)[1]) for note in verdict.notes[1:])
        blocks.append(
            Table(
                title="Mean response by variant",
                head=("Steps done", "Response, mean ± standard error"),
                rows=rows,
            )
        )
    effects = analysis.findings.named("effect_on_response")
    if effects:
        shown = tuple((f.condition, cell(f), f.notes[0]) for f in effects)
        note = "An effect is the mean response with the step less that without it; the interaction is half of what the one step adds to the other's effect."
        blocks.append(
            Table(
                title="Effects of the steps", head=("Step", "Effect / µA", "Interval"), rows=shown, note=note
            )
        )
    for exhibit in analysis.shown("Responds", "controls"):
        caption = "Left: the response of each electrode by the steps done, beside the bare substrate and the bulk metal; the fill says the class, bars are means. Right: effects with their intervals."
        blocks.append(Picture(exhibit=exhibit, caption=caption, alt=exhibit.title))
    return Section(title="Are all steps needed", blocks=tuple(blocks))


def _control(analysis: Analysis) -> Section:
    blocks: list[Block] = []
    words = [f for f in analysis.findings.named("control_of_current") if f.electrode]
    if words:
        said = []
        for group in dict.fromkeys(f.group for f in words):
            counts = Counter(f.text for f in words if f.group == group)
            said.append(
                f"{group}: {joined([f'{w} ({k} of {counts.total()} electrodes)' for w, k in counts.most_common()])}"
            )
        blocks.append(Text(text=f"The peak current is controlled by: {'; '.join(said)}.", tone="verdict"))
        rows = tuple(
            (
                f.electrode,
                f.group,
                f.text,
                value_of(analysis, "scan_rate_exponent", f.electrode),
                value_of(analysis, "diffusional_share", f.electrode),
                value_of(analysis, "transfer_coefficient", f.electrode),
                value_of(analysis, "catalytic_trend", f.electrode),
            )
            for f in words
        )
        names = ("scan_rate_exponent", "diffusional_share", "transfer_coefficient", "catalytic_trend")
        head = ("Electrode", "Material", "Controlled by", *(TERMS[n].label + _unit(n) for n in names))
        blocks.append(Table(title="Scan-rate studies", head=head, rows=rows))
    for k, exhibit in enumerate(analysis.shown("Responds", "scan rates")):
        caption = f"{exhibit.title}. Voltammograms at each scan rate; peak current against scan rate on logarithmic axes with the fitted power law; peak potential against the logarithm of the scan rate; parts of the current that grow with the scan rate and with its root, which is exact only where the peak does not move."
        blocks.append(Picture(exhibit=exhibit, caption=caption, alt=exhibit.title, folded=k > 0))
    return Section(title="What controls the current", blocks=tuple(blocks))


def _cost(analysis: Analysis) -> Section:
    blocks: list[Block] = []
    found = _main(analysis, "double_layer_capacitance")
    if found:
        blocks += _ranges(analysis)
        names = ("capacitance_ratio", "capacitance_exponent", "potential_window")
        rows = tuple(
            (f.electrode, f.group, cell(f), *(value_of(analysis, n, f.electrode) for n in names))
            for f in found
        )
        head = (
            "Electrode",
            "Material",
            "Capacitance" + _unit("double_layer_capacitance"),
            *(TERMS[n].label + _unit(n) for n in names),
        )
        blocks.append(
            Table(
                title="Charging current of the blanks",
                head=head,
                rows=rows,
                note="The exponent is 1 where the current is charging alone. A dash under the window: the blank does not reach the stated current density within the scan.",
            )
        )
    for k, exhibit in enumerate(analysis.shown("Responds", "capacitance")):
        caption = f"{exhibit.title}. Left: the blanks, the window shaded. Right: half the difference of the currents in both directions against scan rate; the slope is the capacitance. Bars: twice the standard uncertainty."
        blocks.append(Picture(exhibit=exhibit, caption=caption, alt=exhibit.title, folded=k > 0))
    return Section(title="What the modification cost in capacitance", blocks=tuple(blocks))


def _ranges(analysis: Analysis) -> list[Block]:
    """The smallest and largest ratio to the bare substrate of each material, in words."""
    ratios = _main(analysis, "capacitance_ratio")
    said = []
    for group in dict.fromkeys(f.group for f in ratios):
        of = sorted((f for f in ratios if f.group == group), key=lambda f: f.value)
        ends = [cell(of[0])] if len(of) == 1 else [cell(of[0]), cell(of[-1])]
        said.append(f"{group} {' to '.join(ends)}")
    if not said:
        return []
    return [Text(text=f"Capacitance over that of the bare substrate: {'; '.join(said)}.", tone="verdict")]


def _areas(analysis: Analysis) -> Section:
    names = ("real_area", "probe_area")
    rows = tuple(
        (
            f.electrode,
            f.group,
            TERMS[f.name].label,
            f.condition or str(f.settings.get("process", "")),
            cell(f),
        )
        for name in names
        for f in analysis.findings.named(name)
    )
    if not rows:
        return Section(title="Real area and area by probe", blocks=())
    note = "A monolayer's charge counts every surface atom; a diffusing probe does not see roughness much lower than its diffusion layer is thick. The two are not interchangeable."
    head = ("Electrode", "Material", "Area", "By", "Area" + _unit("probe_area"))
    table = Table(title="Areas", head=head, rows=rows, note=note)
    return Section(title="Real area and area by probe", blocks=(table,))


def _deposited(analysis: Analysis) -> Section:
    blocks: list[Block] = []
    found = _main(analysis, "deposition_charge")
    if found:
        names = ("moles_deposited", "nominal_thickness", "metal_seen_to_paid", "nuclei_density")
        growth = {f.electrode: f for f in analysis.findings.named("growth_of_nuclei")}
        rows = tuple(
            (
                f.electrode,
                f.group,
                cell(f),
                *(value_of(analysis, n, f.electrode) for n in names),
                growth[f.electrode].text if f.electrode in growth else "–",
            )
            for f in found
        )
        head = (
            "Electrode",
            "Material",
            "Charge / mC",
            *(TERMS[n].label + _unit(n) for n in names),
            "Growth of nuclei",
        )
        note = (
            "Seen over paid for: the metal in the micrographs over that from the charge; 1 where they agree."
        )
        blocks.append(Table(title="What was deposited", head=head, rows=rows, note=note))
    for k, exhibit in enumerate(analysis.shown("Responds", "transient")):
        caption = f"{exhibit.title}. Left: the transient with both limits of growth fitted, charging and background included. Right: in dimensionless form, charging and background taken off."
        blocks.append(Picture(exhibit=exhibit, caption=caption, alt=exhibit.title, folded=k > 0))
    return Section(title="What was deposited, and how it grew", blocks=tuple(blocks))
