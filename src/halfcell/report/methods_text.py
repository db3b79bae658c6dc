"""The methods text: a sentence for each method that was really used, with its source."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from halfcell.finding import Finding
from halfcell.pipeline.methods import METHODS
from halfcell.report.blocks import Part, Section, Table, Text
from halfcell.report.tables import PLACES, label, place_of

if TYPE_CHECKING:
    from halfcell.pipeline.outcome import Analysis

__all__ = ["Used", "methods_part", "methods_text", "methods_used"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Used:
    """A method that was used: what it made, where, and with which settings."""

    name: str
    sentence: str
    formula: str
    source: str
    place: str
    findings: tuple[str, ...]
    settings: tuple[tuple[str, str], ...]


def methods_used(analysis: Analysis) -> tuple[Used, ...]:
    """The methods behind the findings, in the order of the questions."""
    by_method: dict[str, list[Finding]] = {}
    for f in analysis.findings:
        by_method.setdefault(f.method, []).append(f)
    used = [_used(name, findings) for name, findings in by_method.items()]
    return tuple(sorted(used, key=lambda u: PLACES.index(u.place)))


def _used(name: str, findings: list[Finding]) -> Used:
    method = METHODS.get(name)
    return Used(
        name=name,
        sentence=method.sentence
        if method
        else f"{', '.join(label(n) for n in dict.fromkeys(f.name for f in findings))} by {name}.",
        formula=method.formula if method else "",
        source=method.source if method else findings[0].source,
        place=place_of(findings[0]),
        findings=tuple(dict.fromkeys(f.name for f in findings)),
        settings=_settings(findings),
    )


def _settings(findings: list[Finding]) -> tuple[tuple[str, str], ...]:
    """Each setting with its value, or how many values where it differs between findings."""
    values: dict[str, dict[str, None]] = {}
    for f in findings:
        for key, value in f.settings.items():
            values.setdefault(key, {})[setting_text(value)] = None
    return tuple(
        (key, next(iter(v)) if len(v) == 1 else f"{len(v)} values, see the findings")
        for key, v in values.items()
    )


def setting_text(value: Any) -> str:
    """A setting as text: numbers to six digits, lists joined."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.6g}"
    if isinstance(value, Mapping):
        return ", ".join(f"{k} = {setting_text(v)}" for k, v in value.items())
    if isinstance(value, (list, tuple)):
        return ", ".join(setting_text(v) for v in value) or "none"
    return value if isinstance(value, str) else json.dumps(value, default=str, ensure_ascii=False)


def methods_text(analysis: Analysis) -> str:
    """The methods as plain text with numbered sources, ready to paste into a manuscript."""
    from halfcell._version import __version__

    used = methods_used(analysis)
    sources = _sources(used)
    lines = [f"Methods (halfcell {__version__})", ""]
    for place, text in _told(used, sources):
        lines += [place, text, ""]
    lines += ["Sources", *(f"[{i}] {source}" for i, source in enumerate(sources, 1)), ""]
    return "\n".join(lines)


def methods_part(analysis: Analysis) -> Part:
    """The methods as a part of the report: text by question, sources, then formulas and settings."""
    used = methods_used(analysis)
    sources = _sources(used)
    blocks = tuple(Text(text=f"{place}. {text}") for place, text in _told(used, sources))
    listed = Table(title="", head=("", "source"), rows=tuple((f"[{i}]", s) for i, s in enumerate(sources, 1)))
    rows = tuple(
        (
            u.name,
            ", ".join(label(n) for n in u.findings),
            u.formula,
            "; ".join(f"{k} = {v}" for k, v in u.settings),
        )
        for u in used
    )
    formulas = Table(title="", head=("method", "what it gave", "formula", "settings"), rows=rows)
    sections = (
        Section(title="What was done", blocks=blocks),
        Section(title="Sources", blocks=(listed,)),
        Section(title="Formulas and settings", blocks=(formulas,), folded=True),
    )
    return Part(place="Methods", question="How was every number made?", sections=sections if used else ())


_COMMON = "common practice, no source"


def _sources(used: tuple[Used, ...]) -> list[str]:
    """Each source once, in the order it is first cited; common practice is no source."""
    return list(dict.fromkeys(u.source for u in used if u.source != _COMMON))


def _told(used: tuple[Used, ...], sources: list[str]) -> list[tuple[str, str]]:
    """The sentences of each question, each with the number of its source before the full stop."""
    told = []
    for place in PLACES:
        said = dict.fromkeys(_cited(u, sources) for u in used if u.place == place)
        if said:
            told.append((place, " ".join(said)))
    return told


def _cited(used: Used, sources: list[str]) -> str:
    mark = f"[{sources.index(used.source) + 1}]" if used.source in sources else "(common practice)"
    return f"{used.sentence.strip().rstrip('.')} {mark}."
