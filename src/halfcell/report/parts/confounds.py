"""What else would be read as analyte?"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from halfcell.report.blocks import Block, Part, Picture, Section, Table, Text
from halfcell.report.tables import by_electrode
from halfcell.units import number, pretty, with_uncertainty

if TYPE_CHECKING:
    from halfcell.finding import Finding
    from halfcell.pipeline.outcome import Analysis


def part(analysis: Analysis) -> Part:
    """The part "Confounds"."""
    confounders = analysis.study.file.confounders
    sections = []
    if not confounders:
        text = (
            "The study names no confounders: what else these electrodes would read as analyte is not known."
        )
        sections.append(Section(title="Confounders", blocks=(Text(text=text, tone="caution"),)))
    for name, made in confounders.items():
        rows = [f for f in analysis.findings if f.condition == name or f.condition.startswith(f"{name},")]
        level = f"{made.level * 1e3:g} {pretty('umol/L')}"
        sections.append(_one(analysis, name, level, rows))
    return Part(
        place="Confounds", question="What else would it mistake for the analyte?", sections=tuple(sections)
    )


def _one(analysis: Analysis, name: str, level: str, rows: list[Finding]) -> Section:
    title = f"{name[:1].upper()}{name[1:]} at {level}"
    false = [f for f in rows if f.name == "false_concentration" and f.condition == name]
    swept = [f for f in rows if f.name in {"false_concentration_by_sweep", "peak_resolution"}]
    if not false and not swept:
        return Section(
            title=title,
            blocks=(Text(text=f"No electrode has runs both with and without {name}.", tone="caution"),),
        )
    blocks: list[Block] = []
    by = {(f.name, f.electrode): f for f in rows if f.condition == name}
    table = []
    for f in false:
        word, add, select = (
            by.get((n, f.electrode)) for n in ("told_apart", "additivity", "selectivity_coefficient")
        )
        table.append(
            (
                f.electrode,
                with_uncertainty(f.value, f.standard_uncertainty),
                _between(f),
                with_uncertainty(select.value, select.standard_uncertainty) if select else "–",
                add.text if add else "–",
                word.text if word else "–",
            )
        )
    head = (
        "electrode",
        f"read as / {pretty('umol/L')}",
        f"interval / {pretty('umol/L')}",
        "selectivity coefficient",
        "signals",
        "told apart",
    )
    note = f"What {name} at {level} would be read as; negative where it lowers the reading. Value ± standard uncertainty; interval by Fieller."
    if table:
        blocks.append(Table(title=f"False concentration of {name}", head=head, rows=tuple(table), note=note))
    if swept:
        blocks.append(
            by_electrode(
                "From voltammograms",
                swept,
                ("false_concentration_by_sweep", "peak_resolution"),
                note="From one pair of records an electrode; peaks further apart than their mean width (resolution above 1) can be told apart by potential.",
            )
        )
    words: dict[tuple[str, str], list[str]] = {}
    for f in rows:
        if f.name == "told_apart" and f.condition == name:
            # The p of each electrode stands in its finding; without it one sentence serves all.
            why = re.sub(r" \(p = [^)]*\)", "", f.notes[0]) if f.notes else ""
            words.setdefault((f.text, why), []).append(f.electrode)
    for (said, why), electrodes in words.items():
        tone = "caution" if said in {"no", "indistinguishable"} else "note"
        blocks.append(Text(text=f"{', '.join(electrodes)}: {said}: {why}.", tone=tone))
    shown = [
        e for e in analysis.shown("Confounds") if e.condition == name or e.condition.startswith(f"{name},")
    ]
    blocks += [
        Picture(exhibit=e, caption=f"{e.title}. {e.data.get('caption', _CAPTION)}", alt=e.title, folded=True)
        for e in shown
    ]
    return Section(title=title, blocks=tuple(blocks))


_CAPTION = "Filled: without; open: with. The arrow at no analyte is what it adds."


def _between(f: Finding) -> str:
    low, high = f.settings.get("interval low"), f.settings.get("interval high")
    return "–" if low is None or high is None else f"{number(low)} … {number(high)}"
