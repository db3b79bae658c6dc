"""Are the differences between groups real?"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from halfcell.choice.criteria import label_of
from halfcell.report.blocks import Block, Part, Picture, Section, Table, Text
from halfcell.units import number, pretty, with_uncertainty

if TYPE_CHECKING:
    from halfcell.comparison.compare import Comparison
    from halfcell.comparison.factors import FactorComparison
    from halfcell.comparison.result import GroupResult, PairResult
    from halfcell.pipeline.outcome import Analysis, Exhibit

QUESTION = "Are the differences between the groups real?"


def part(analysis: Analysis) -> Part:
    """One section a finding: figure, groups with letters, pairs with intervals, method and alternatives."""
    shown = {e.condition: e for e in analysis.shown("Compares", "comparison")}
    sections = [_overview(analysis)] if analysis.comparisons else []
    sections += [_section(c, shown) for c in analysis.comparisons]
    return Part(place="Compares", question=QUESTION, sections=tuple(sections))


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """A comparison as title, tables and sentences."""

    title: str
    tables: tuple[Table, ...]
    words: tuple[str, ...]


def told(c: Comparison) -> Told:
    """A comparison for a terminal."""
    tables = [_groups(c)]
    tables += [_pairs(c)] if c.pairs else []
    tables += [_alternatives(c)] if c.alternatives else []
    return Told(
        title=f"{_heading(c)} by {c.by}",
        tables=tuple(tables),
        words=(_method(c), *c.notes, *(f"No value: {m}" for m in c.missing)),
    )


def factor_tables(c: FactorComparison) -> tuple[Table, ...]:
    """Effects of several attributes at once, and the pairs of each."""
    unit = f" / {pretty(c.unit)}" if pretty(c.unit) else ""
    effects = tuple(
        (e.name, str(e.df), number(e.f), _p(e.p), "yes" if e.p <= 1 - c.level else "not shown")
        for e in c.found.effects
    )
    title = f"{label_of(c.finding, c.condition)} of {c.n} electrodes by {', '.join(c.by)}"
    tables = [Table(title=title, head=("effect", "df", f"F (df {c.found.df})", "p", "real?"), rows=effects)]
    for name, pairs in c.found.pairs.items():
        known = c.found.levels[name]
        rows = tuple(
            (
                f"{known[p.first]} − {known[p.second]}",
                with_uncertainty(p.difference.value, p.difference.u),
                _span(p.low, p.high),
                _p(p.p),
                "different" if p.different else "not shown to differ",
            )
            for p in pairs
        )
        head = (name, f"difference{unit}", "simultaneous interval", "p, adjusted", "claim")
        tables.append(Table(title="", head=head, rows=rows))
    return tuple(tables)


def _p(p: float) -> str:
    return "below 0.001" if p < 0.001 else number(p)


def _overview(analysis: Analysis) -> Section:
    rows = []
    for c in analysis.comparisons:
        order = sorted(c.groups, key=lambda g: -g.mean.value)
        letters = ", ".join(f"{g.name} ({g.letters})" if g.letters else g.name for g in order)
        real = sum(p.different for p in c.pairs)
        rows.append((_heading(c), letters or "–", f"{real} of {len(c.pairs)}", "yes" if c.depends else "no"))
    head = (
        "finding",
        "groups, highest mean first (letters)",
        "pairs shown to differ",
        "does that depend on the method?",
    )
    note = "Groups that share a letter are not shown to differ; that is not to say that they are the same."
    return Section(title="At a glance", blocks=(Table(title="", head=head, rows=tuple(rows), note=note),))


def _heading(c: Comparison) -> str:
    text = label_of(c.finding, c.condition)
    return text[:1].upper() + text[1:]


def _section(c: Comparison, shown: dict[str, Exhibit]) -> Section:
    about = f"{c.finding}, {c.condition}" if c.condition else c.finding
    blocks: list[Block] = []
    if about in shown:
        caption = "Left, each electrode (filled: compared; open: shown only) above its group's mean with interval, and letters; right, the difference of each pair (filled: shown to differ)."
        blocks.append(Picture(exhibit=shown[about], caption=caption, alt=f"{_heading(c)} by {c.by}"))
    blocks.append(_groups(c))
    if c.pairs:
        blocks.append(_pairs(c))
    blocks.append(Text(text=_method(c), tone="note"))
    if c.alternatives:
        blocks.append(_alternatives(c))
    blocks += [Text(text=f"{n}.", tone="note") for n in (*c.notes, *(f"No value: {m}" for m in c.missing))]
    return Section(title=_heading(c), blocks=tuple(blocks), folded=True)


def _span(low: float, high: float) -> str:
    if not (math.isfinite(low) and math.isfinite(high)):
        return "–"
    step = (high - low) / 6
    return f"{number(low, step)} to {number(high, step)}"


def _unit(c: Comparison) -> str:
    return f" / {pretty(c.unit)}" if pretty(c.unit) else ""


def _groups(c: Comparison) -> Table:
    def row(g: GroupResult) -> tuple[str, ...]:
        return (
            g.name,
            str(g.n),
            with_uncertainty(g.mean.value, g.mean.u),
            number(g.s) if g.n > 1 else "–",
            _span(g.interval.low, g.interval.high),
            g.letters or "–",
        )

    head = (
        c.by,
        c.independent,
        f"mean{_unit(c)}",
        "standard deviation",
        f"{100 * c.level:g} % interval",
        "letters",
    )
    return Table(
        title="Groups",
        head=head,
        rows=tuple(row(g) for g in (*c.groups, *c.apart)),
        note="Groups without letters are shown and not tested." if c.apart else "",
    )


def _pairs(c: Comparison) -> Table:
    def verdict(p: PairResult) -> str:
        return "different" if p.different else "same within the margin" if p.same else "not shown to differ"

    rows = tuple(
        (
            p.name,
            with_uncertainty(p.difference.value, p.difference.u),
            _span(p.interval.low, p.interval.high),
            _span(p.ratio_interval.low, p.ratio_interval.high),
            _p(p.p),
            verdict(p),
            number(p.visible),
            "above 1000" if p.needed is None else str(p.needed),
        )
        for p in c.pairs
    )
    head = (
        "pair",
        f"difference{_unit(c)}",
        "simultaneous interval",
        "ratio, interval",
        "p, adjusted",
        "claim",
        "smallest visible difference",
        "electrodes a group needed",
    )
    sought = "the stated margin" if any(p.margin is not None for p in c.pairs) else "the difference seen"
    note = f"Smallest visible difference: what these electrodes would have shown with a chance of 80 %. Electrodes needed: to show {sought} with that chance at the present scatter."
    return Table(title="Pairs", head=head, rows=rows, note=" ".join((note, *_planned(c))))


def _planned(c: Comparison) -> tuple[str, ...]:
    """What simulation adds to the numbers needed where each value is the mean of several, or why it adds nothing."""
    if not c.pairs or all(p.different for p in c.pairs):
        return ()
    nested = [(p.name, p.nested) for p in c.pairs if p.nested is not None]
    if not nested:
        every = all(s.parts.size == 1 for g in c.groups for s in g.group.samples)
        if every:
            why = f"each of the {c.independent} has one value"
        elif "within batches" in c.test:
            why = "each batch gives one difference"
        else:
            return ()
        return (f"The numbers are exact for normal values: {why}, so that nothing is left to simulate.",)
    parts = "electrodes a batch" if c.independent == "batches" else "values an electrode"

    def told(n: int | None) -> str:
        return "above 200" if n is None else str(n)

    texts = [
        f"{name} needs {told(n.needed)} {c.independent} a group with {n.inside} {parts} as now, {told(n.needed_twice)} with {2 * n.inside}"
        for name, n in nested
    ]
    return (f"By simulation of both levels of scatter, pooled over the pair: {'; '.join(texts)}.",)


def _method(c: Comparison) -> str:
    parts = [f"Method: {c.test}. {c.reason}"]
    if c.spread is not None:
        parts.append(
            f"The largest standard deviation is {number(c.spread.ratio)} times the smallest ({c.spread.method}: p = {number(c.spread.p)})."
        )
    if c.normality is not None:
        parts.append(
            f"Residuals against the normal distribution: p = {number(c.normality.p)} (Shapiro and Wilk; a rough guide with so few)."
        )
    if c.overall is not None:
        parts.append(f"Over all groups (Welch): F = {number(c.overall.f)}, p = {number(c.overall.p)}.")
    return " ".join(parts)


def _alternatives(c: Comparison) -> Table:
    rows = tuple(
        (
            a.method,
            "–" if a.p is None else number(a.p),
            ", ".join(a.adds) or "–",
            ", ".join(a.takes) or "–",
            a.note or "–",
        )
        for a in c.alternatives
    )
    return Table(
        title="What other methods would claim",
        head=("method", "p over all groups", "also different", "not shown", "remark"),
        rows=rows,
        folded=True,
    )
