"""The first page: which electrode goes forward, why, who comes next, what would change that."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from halfcell.choice.criteria import with_unit
from halfcell.choice.explanation import explain
from halfcell.choice.wording import Claim, chance
from halfcell.report.blocks import Block, Part, Picture, Section, Table, Text
from halfcell.units import number, pretty, with_uncertainty

if TYPE_CHECKING:
    from halfcell.choice.choose import Choice
    from halfcell.choice.musts import MustResult
    from halfcell.pipeline.outcome import Analysis

QUESTION = "Which electrode goes forward, and why?"
_REASONS = ("support", "difference", "no difference")
_OUT = ("eliminated", "unranked")
_CHANGES = ("weight", "must")
_NEXT = ("undecided", "measure")


def part(analysis: Analysis) -> Part:
    """Verdict, reasons, who is out, what would change the verdict, what to measure."""
    choice = analysis.choice
    if choice is None:
        text = "No choice was made: the study states no criteria ([choice] in study.toml), or they could not be applied."
        return Part(
            place="Chooses",
            question=QUESTION,
            sections=(Section(title="Verdict", blocks=(Text(text=text, tone="caution"),)),),
        )
    claims = explain(choice)
    sections = [
        Section(
            title="Verdict",
            blocks=(Text(text=_joined(claims, ("verdict",)), tone="verdict"), *_said(claims, _REASONS)),
        ),
    ]
    if choice.ranked:
        pictures = tuple(
            Picture(exhibit=e, caption=e.title, alt=e.title) for e in analysis.shown("Chooses", "ranking")
        )
        sections.append(Section(title="Ranking", blocks=(_ranking(choice), *pictures, _wanted(choice))))
    if choice.criteria.musts:
        sections.append(Section(title="Musts", blocks=(_musts(choice), *_said(claims, _OUT))))
    changes = _said(claims, _CHANGES)
    weights = tuple(
        Picture(
            exhibit=e,
            caption=f"{e.title}: each weight moved by itself; dotted the weight now, circles where the lead changes.",
            alt=e.title,
            folded=True,
        )
        for e in analysis.shown("Chooses", "weights")
    )
    if changes or weights:
        sections.append(Section(title="What would change the verdict", blocks=(*changes, *weights)))
    ahead = _said(claims, _NEXT)
    if ahead:
        sections.append(Section(title="What to measure to be surer", blocks=ahead))
    sections.append(
        Section(
            title="How to read this",
            blocks=(Text(text=_reading(choice), tone="note"), *_notes(choice)),
            folded=True,
        )
    )
    return Part(place="Chooses", question=QUESTION, sections=tuple(sections))


def tables_of(choice: Choice) -> tuple[Table, ...]:
    """Ranking and musts as tables, where there are any."""
    ranking = (_ranking(choice), _wanted(choice)) if choice.ranked else ()
    return (*ranking, _musts(choice)) if choice.criteria.musts else ranking


def _joined(claims: tuple[Claim, ...], kinds: tuple[str, ...]) -> str:
    return " ".join(c.text for c in claims if c.kind in kinds)


def _said(claims: tuple[Claim, ...], kinds: tuple[str, ...]) -> tuple[Block, ...]:
    return tuple(Text(text=c.text) for c in claims if c.kind in kinds)


def _ranking(choice: Choice) -> Table:
    head = (
        "place",
        "candidate",
        "desirability",
        "probability of being best",
        f"place, {100 * choice.level:g} % interval",
        "not dominated",
    )
    rows = []
    for i, r in enumerate(choice.ranked):
        span = f"{r.places[0]} to {r.places[1]}" if r.places[0] != r.places[1] else str(r.places[0])
        whole = with_uncertainty(r.desirability.value, r.desirability.u)
        rows.append((str(i + 1), r.candidate, whole, chance(r.best), span, chance(r.on_front)))
    note = "“Not dominated” is the probability that no other candidate is at least as good in every want, whatever the weights."
    return Table(title="Candidates that no must eliminates", head=head, rows=tuple(rows), note=note)


def _wanted(choice: Choice) -> Table:
    """One row a want: its range and weight, and each candidate's value with its desirability."""
    rows = []
    for j, w in enumerate(choice.criteria.wants):
        aim = (
            f"{w.aim} within {w.low:g} to {w.high:g}"
            if w.target is None
            else f"{w.target:g}, within {w.low:g} to {w.high:g}"
        )
        cells = []
        for r in choice.ranked:
            found = choice.estimate(r.candidate, w.finding, w.condition or "")
            value = with_uncertainty(found.mean.value, found.mean.u) if found is not None else "–"
            cells.append(f"{value} ({r.parts[j]:.2f})")
        rows.append((_head(w.label, w.unit), aim, f"{w.weight:g}", *cells))
    head = ("want", "aim", "weight", *(r.candidate for r in choice.ranked))
    return Table(
        title="What is wanted: means with standard uncertainty (desirability)", head=head, rows=tuple(rows)
    )


def _head(label: str, unit: str) -> str:
    return f"{label} / {pretty(unit)}" if pretty(unit) else label


def _musts(choice: Choice) -> Table:
    labels = list(dict.fromkeys(m.label for m in choice.criteria.musts))
    cells = {(r.candidate, r.must.label): _cell(r) for r in choice.musts}
    rows = tuple((name, *(cells.get((name, label), "–") for label in labels)) for name in choice.candidates)
    because = [f"{m.label}: {m.because}" for m in choice.criteria.musts if m.because]
    return Table(
        title=f"Each must by its {100 * choice.level:g} % interval",
        head=("candidate", *labels),
        rows=rows,
        note="; ".join(because),
    )


def _cell(r: MustResult) -> str:
    if r.must.equals is not None:
        return f"{r.verdict} ({r.why})"
    if not r.estimate.known:
        return f"{r.verdict} ({r.why})"
    if not (math.isfinite(r.interval.low) and math.isfinite(r.interval.high)):
        return f"{r.verdict} ({with_unit(r.estimate.mean.value, r.must.unit)}; {r.why})"
    u = r.estimate.mean.u
    return f"{r.verdict} ({number(r.interval.low, u)} to {number(r.interval.high, u)})"


def _reading(choice: Choice) -> str:
    return (
        f"Intervals are at {100 * choice.level:g} %; a must is passed or failed only when its whole interval lies on one side of the limit, "
        "each must by itself. Desirability runs from 0 (useless) to 1 (no better is asked for); the overall value is the weighted geometric mean. "
        f"Probabilities are shares of {choice.count} random draws of all means together. Every number here is a finding: "
        "“halfcell why” shows what it rests on."
    )


def _notes(choice: Choice) -> tuple[Block, ...]:
    return tuple(Text(text=f"{note}.", tone="note") for note in choice.notes)
