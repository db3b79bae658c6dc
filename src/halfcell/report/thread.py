"""The thread from a number back to the samples in the raw files it rests on."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from difflib import get_close_matches
from typing import TYPE_CHECKING, Any

from halfcell.errors import HalfcellError
from halfcell.pipeline.methods import METHODS
from halfcell.report.levels import level_lines, log_lines
from halfcell.report.methods_text import setting_text
from halfcell.report.tables import label, place_of, shown_value
from halfcell.units import number, pretty
from halfcell.vocabulary import TERMS

if TYPE_CHECKING:
    from halfcell.finding import Finding
    from halfcell.pipeline.outcome import Analysis
    from halfcell.study.model import Run

__all__ = ["Strand", "chosen", "thread"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Strand:
    """One heading of a thread with its lines: (what, value) pairs."""

    title: str
    lines: tuple[tuple[str, str], ...]


def chosen(analysis: Analysis, name: str, whom: str = "", condition: str = "") -> tuple[Finding, ...]:
    """The findings of a name, of an electrode or group, of a condition; empty texts leave open.

    Raises HalfcellError that names the nearest known names where there is none.
    """
    names = analysis.findings.names()
    if name not in names:
        if name in TERMS:
            raise HalfcellError(
                f"This study has no finding {name!r}; it has {', '.join(names) or 'no findings'}."
            )
        raise HalfcellError(f"There is no finding {name!r}. {_nearest(name, names)}")
    found = analysis.findings.named(name)
    if whom:
        about = tuple(f for f in found if whom in (f.electrode, f.group if not f.electrode else ""))
        if not about:
            known = dict.fromkeys(f.electrode or f.group or "the study" for f in found)
            raise HalfcellError(f"There is no {name} of {whom!r}. {_nearest(whom, known)}")
        found = about
    if condition:
        exact = tuple(f for f in found if f.condition == condition)
        kept = exact or tuple(f for f in found if condition.lower() in f.condition.lower())
        if not kept:
            known = dict.fromkeys(f.condition for f in found)
            raise HalfcellError(
                f"There is no {name} under the condition {condition!r}. {_nearest(condition, known)}"
            )
        found = kept
    return found


def _nearest(word: str, known: Iterable[str]) -> str:
    names = [k for k in known if k]
    near = get_close_matches(word, names, n=3, cutoff=0.5)
    if near:
        return f"Did you mean {', '.join(near)}?"
    return f"There {'is' if len(names) == 1 else 'are'} {', '.join(names)}." if names else "There are none."


def thread(analysis: Analysis, finding: Finding) -> tuple[Strand, ...]:
    """Everything a finding rests on: value, method, settings, recordings, decisions, other findings.

    Each recording is read again, so that its columns and units are those of the file.
    """
    strands = (
        Strand(title="", lines=_value(finding)),
        Strand(title="Method", lines=_method(finding)),
        Strand(title="Settings", lines=tuple((k, setting_text(v)) for k, v in finding.settings.items())),
        *(strand for file in finding.recordings for strand in _file(analysis, finding, file)),
        Strand(title="Decided by a person", lines=_decisions(analysis, finding)),
        Strand(title="Notes", lines=tuple(("", note) for note in finding.notes)),
        Strand(title="Rests on", lines=_shown(_rests_on(analysis, finding))),
        Strand(
            title="Made before it from the same recordings",
            lines=_shown(_beside(analysis, finding, before=True)),
        ),
        Strand(
            title="Made after it from the same recordings",
            lines=_names(_beside(analysis, finding, before=False)),
        ),
    )
    return tuple(s for s in strands if s.lines)


def _value(f: Finding) -> tuple[tuple[str, str], ...]:
    lines = [("value", shown_value(f))]
    term = TERMS.get(f.name)
    if term:
        lines.append(("meaning", term.meaning))
    if math.isfinite(f.standard_uncertainty) and not f.text:
        lines.append(("standard uncertainty", f"{number(f.standard_uncertainty)} {pretty(f.unit)}".strip()))
    elif not f.text:
        lines.append(("standard uncertainty", "none" + (f": {f.notes[0]}" if f.notes else "")))
    if math.isfinite(f.degrees_of_freedom):
        lines.append(("degrees of freedom", number(f.degrees_of_freedom)))
    lines += [
        (what, text)
        for what, text in (("electrode", f.electrode), ("group", f.group), ("condition", f.condition))
        if text
    ]
    return tuple(lines)


def _method(f: Finding) -> tuple[tuple[str, str], ...]:
    method = METHODS.get(f.method)
    if method is None:
        return ("name", f.method), ("source", f.source)
    return (
        ("name", method.name),
        ("formula", method.formula),
        ("source", method.source),
        ("in words", method.sentence),
    )


def _file(analysis: Analysis, finding: Finding, file: str) -> Iterator[Strand]:
    """A recording and, for what rests on a calibration, the levels in it."""
    yield _recording(analysis, file)
    if place_of(finding) in {"Quantifies", "Confounds"}:
        yield Strand(title=f"Levels in {file}", lines=level_lines(analysis, file))


def _recording(analysis: Analysis, file: str) -> Strand:
    lines = [("sha256", analysis.files.get(file, "") or "not known")]
    run = next((r for r in analysis.study.runs if r.file == file), None)
    if run is None:
        return Strand(title=f"Recording {file}", lines=tuple(lines))
    lines += [*_taken(run), *log_lines(analysis, run)]
    try:
        from halfcell.pipeline.loading import load, options

        lines += _read(load(analysis.study.folder, file, **options(analysis.study, run)))
    except (HalfcellError, OSError) as error:
        lines.append(("cannot be read now", str(error)))
    return Strand(title=f"Recording {file}", lines=tuple(lines))


def _taken(run: Run) -> list[tuple[str, str]]:
    """How a record was taken, as runs.csv says."""
    taken = [("technique", run.technique), ("solution", run.solution)]
    if run.concentration is not None:
        taken.append(("concentration", f"{number(run.concentration)} mM"))
    if run.scan_rate is not None:
        taken.append(("scan rate", f"{number(run.scan_rate * 1e3)} {pretty('mV/s')}"))
    taken += [("cycle", str(run.cycle) if run.cycle else ""), ("note", run.note)]
    return [(what, text) for what, text in taken if text]


def _read(record: Any) -> list[tuple[str, str]]:
    """What the reader found in the file: columns with units, rows, assumptions."""
    if hasattr(record, "pixels"):
        rows, columns = record.pixels.shape
        lines = [("image", f"{columns} × {rows} pixels, {record.bits} bits")]
        scale = record.metres_per_pixel
        lines.append(("scale", f"{number(scale * 1e9)} nm per pixel, from {record.scale_from or 'nowhere'}"))
    else:
        used = ", ".join(
            f"{role} = {heading!r} in {unit or 'unknown unit'}" for role, heading, unit in record.columns
        )
        lines = [
            ("columns", used),
            ("samples", f"{len(record.current)}, the first in line {record.first_row}"),
            ("reader", record.reader),
        ]
    lines += [("assumed", text) for text in record.assumed]
    return [(what, text) for what, text in lines if text]


def _decisions(analysis: Analysis, finding: Finding) -> tuple[tuple[str, str], ...]:
    lines = []
    for a in analysis.study.adjustments:
        if getattr(a, "file", "") in finding.recordings:
            values = a.model_dump(mode="json", exclude={"kind", "file", "who", "when", "why"})
            what = ", ".join(f"{k} = {setting_text(v)}" for k, v in values.items())
            by = ", ".join(x for x in (a.who, a.when) if x)
            lines.append((a.kind, "; ".join(x for x in (what, f"by {by}" if by else "", a.why) if x)))
    return tuple(lines)


def _rests_on(analysis: Analysis, finding: Finding) -> list[Finding]:
    """Findings that this one names in its settings; of a group, those of its electrodes."""
    keys = {str(key) for key in finding.settings.get("rests_on", ())}
    named = {str(finding.settings.get(key, "")) for key in ("finding", "of")} - {""}
    if not finding.electrode:
        named.add(finding.name)
    groups = {finding.group, *(str(g) for g in finding.settings.get("groups", ()))} - {""}
    found = []
    for f in analysis.findings:
        about = (
            f.electrode == finding.electrode
            if finding.electrode
            else bool(f.electrode) and (not groups or f.group in groups)
        )
        if f is not finding and (f.key in keys or (f.name in named and about)):
            found.append(f)
    return found


def _beside(analysis: Analysis, finding: Finding, *, before: bool) -> list[Finding]:
    """Findings about the same electrode made from some of the same recordings."""
    if not finding.recordings:
        return []
    rows = list(analysis.findings)
    at = next((i for i, f in enumerate(rows) if f is finding), len(rows))
    mine = set(finding.recordings)
    others = rows[:at] if before else rows[at + 1 :]
    return [
        f for f in others if f.recordings and f.electrode == finding.electrode and mine & set(f.recordings)
    ]


def _shown(findings: list[Finding], most: int = 30) -> tuple[tuple[str, str], ...]:
    lines = [(f.key, shown_value(f)) for f in findings[:most]]
    return tuple(lines) + (((f"and {len(findings) - most} more", ""),) if len(findings) > most else ())


def _names(findings: list[Finding]) -> tuple[tuple[str, str], ...]:
    names = dict.fromkeys(f.name for f in findings)
    return (("", ", ".join(names)),) if names else ()


def title(finding: Finding) -> str:
    """A finding's address in words."""
    whom = finding.electrode or finding.group
    return (
        label(finding.name)
        + (f" of {whom}" if whom else "")
        + (f", {finding.condition}" if finding.condition else "")
    )
