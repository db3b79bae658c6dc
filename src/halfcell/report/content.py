"""What a report says, before it has a form: parts, methods, cautions, appendix."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from halfcell.errors import Problem
from halfcell.report.appendix import appendix
from halfcell.report.blocks import Part, Picture, Section, Text
from halfcell.report.calm import calm
from halfcell.report.cautions import cautions
from halfcell.report.methods_text import methods_part
from halfcell.report.openings import with_openings
from halfcell.report.parts import PARTS
from halfcell.report.tables import by_electrode, findings_table, place_of

if TYPE_CHECKING:
    from halfcell.pipeline.outcome import Analysis

__all__ = ["Content", "content", "invented_notice", "title_of"]

QUESTIONS = {
    "Chooses": "Which electrode goes forward, and why?",
    "Made": "What is on the surface?",
    "Responds": "Does each electrode respond, and is the response well defined?",
    "Quantifies": "How well does it quantify?",
    "Confounds": "What else would it mistake for the analyte?",
}
"""The questions of places that have no part of their own yet."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Content:
    """Title, notice and the parts of a report in order; ``problems`` are those of writing it."""

    title: str
    subtitle: str
    notice: str
    parts: tuple[Part, ...]
    problems: tuple[Problem, ...] = ()


def content(analysis: Analysis, names: Sequence[str] | None = None) -> Content:
    """The whole report, or only the parts named ("chooses", "made" …, "methods", "cautions", "appendix").

    Raises ValueError for a part that does not exist.
    """
    wanted = None if names is None else [name.lower() for name in names]
    known = part_names()
    unknown = [name for name in wanted or () if name not in known]
    if unknown:
        raise ValueError(f"There is no part {unknown[0]!r} of the report; the parts are {', '.join(known)}.")
    parts, problems = [], []
    for name in known:
        if wanted is None or name in wanted:
            part, problem = _part(analysis, name)
            parts.append(with_openings(calm(part)))
            problems += [problem] if problem else []
    return Content(
        title=title_of(analysis),
        subtitle=_subtitle(analysis),
        notice=invented_notice(analysis),
        parts=tuple(p for p in parts if p.sections),
        problems=tuple(problems),
    )


def part_names() -> tuple[str, ...]:
    """The names of all parts, in the order of the report."""
    usual = ("chooses", "made", "responds", "quantifies", "confounds")
    return (*dict.fromkeys((*usual, *PARTS)), "methods", "cautions", "appendix")


def title_of(analysis: Analysis) -> str:
    """The study's title, or one made of its analyte."""
    return analysis.study.file.title or f"Choice of an electrode for {analysis.study.file.analyte}"


def invented_notice(analysis: Analysis) -> str:
    """The comment at the top of study.toml where it says that the data are invented, else an empty text."""
    lines: list[str] = []
    try:
        with (analysis.study.folder / "study.toml").open(encoding="utf-8-sig") as source:
            while len(lines) < 5 and (line := source.readline(400).strip()).startswith("#"):
                lines.append(line.strip("# "))
    except (OSError, UnicodeDecodeError):
        return ""
    return " ".join(lines) if lines and "invented" in lines[0].lower() else ""


def _subtitle(analysis: Analysis) -> str:
    file = analysis.study.file
    groups = dict.fromkeys(g for g in (analysis.study.group(name) for name in file.electrodes) if g)
    return (
        f"Analyte: {file.analyte}. {len(file.electrodes)} electrodes in {len(groups)} groups, "
        f"{len(analysis.study.runs)} recordings, {len(analysis.findings)} findings. "
        f"Potentials are against {file.reference_electrode}; oxidation currents are positive."
    )


def _part(analysis: Analysis, name: str) -> tuple[Part, Problem | None]:
    own = {"methods": methods_part, "cautions": cautions, "appendix": appendix}
    try:
        if name in own:
            return own[name](analysis), None
        if name in PARTS:
            return PARTS[name](analysis), None
        return usual_part(analysis, name.capitalize()), None
    except Exception as error:  # noqa: BLE001 - a part that fails is said in the report, never left out silently
        what = f"The part {name!r} of the report could not be written ({type(error).__name__}: {error})."
        section = Section(title="Not written", blocks=(Text(text=what, tone="caution"),))
        question = QUESTIONS.get(name.capitalize(), name)
        return Part(place=name.capitalize(), question=question, sections=(section,)), Problem(
            file="report", what=what
        )


def usual_part(analysis: Analysis, place: str) -> Part:
    """A part made of all findings and exhibits of a place, where no part of its own is written for it."""
    rows = [f for f in analysis.findings if place_of(f) == place]
    sections = []
    if place == "Chooses" and analysis.choice is None:
        text = "No choice was made: the study states no criteria ([choice] in study.toml), or too few findings to judge them by."
        sections.append(Section(title="Verdict", blocks=(Text(text=text, tone="caution"),)))
    single = [f for f in rows if f.electrode and not f.condition]
    if single:
        table = by_electrode("", single, dict.fromkeys(f.name for f in single))
        sections.append(Section(title="Findings by electrode", blocks=(table,)))
    others = [f for f in rows if not f.electrode or f.condition]
    if others:
        sections.append(
            Section(title="Further findings", blocks=(findings_table("", others),), folded=len(others) > 12)
        )
    shown = tuple(Picture(exhibit=e, caption=e.title, folded=True) for e in analysis.shown(place))
    if shown:
        sections.append(Section(title="Figures", blocks=shown, folded=True))
    return Part(place=place, question=QUESTIONS.get(place, place), sections=tuple(sections))
