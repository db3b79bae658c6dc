"""Cautions: what these findings may not be used for, safety, and what the methods noted about themselves."""

from __future__ import annotations

from typing import TYPE_CHECKING

from halfcell.report.blocks import Part, Section, Table, Text
from halfcell.report.tables import label

if TYPE_CHECKING:
    from halfcell.pipeline.outcome import Analysis

__all__ = ["cautions"]

USE = (
    "The findings are for research. Nothing here is for diagnosis, nor for releasing water, food or medicine; "
    "that needs a validated method under the rules that apply."
)
SAFETY = (
    "Where preparations are described: reducing agents such as borohydride evolve hydrogen with water and acids; many metal salts and "
    "analytes are toxic, oxidising or harmful to aquatic life; waste goes to its proper stream. Read the safety data sheet of "
    "each substance, follow the site's chemical hygiene plan and local rules, and ask the supervisor. halfcell is no safety authority."
)
NUMBERS = (
    "A value after ± is a standard uncertainty (one standard deviation); an interval says its level. "
    "A detection limit always says by which definition, a sensitivity per area by which area."
)


def cautions(analysis: Analysis) -> Part:
    """The cautions of every report, then the notes that the methods left, with how often each occurs."""
    notes: dict[str, list[str]] = {}
    for f in analysis.findings:
        for note in f.notes:
            notes.setdefault(note, []).append(
                label(f.name) + (f" ({f.electrode or f.group})" if f.electrode or f.group else "")
            )
    sections = [
        Section(
            title="Use of this report",
            blocks=(Text(text=USE), Text(text=NUMBERS), Text(text=SAFETY, tone="caution")),
        )
    ]
    if notes:
        rows = tuple(
            (note, str(len(about)), _few(about))
            for note, about in sorted(notes.items(), key=lambda item: -len(item[1]))
        )
        table = Table(title="", head=("note", "findings", "which"), rows=rows)
        sections.append(Section(title="What the methods noted", blocks=(table,), folded=len(rows) > 8))
    return Part(place="Cautions", question="What should a reader be careful with?", sections=tuple(sections))


def _few(about: list[str], most: int = 6) -> str:
    names = list(dict.fromkeys(about))
    return ", ".join(names[:most]) + (f" and {len(names) - most} more" if len(names) > most else "")
