"""Comparison and choice as JSON types, for machines."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from halfcell.choice.explanation import explain

if TYPE_CHECKING:
    from halfcell.choice.choose import Choice
    from halfcell.comparison.compare import Comparison
    from halfcell.comparison.factors import FactorComparison
    from halfcell.comparison.result import NestedNeed
    from halfcell.results import Interval, Measured


def _number(value: float | None) -> float | None:
    return float(value) if value is not None and math.isfinite(value) else None


def _measured(m: Measured) -> dict[str, Any]:
    return {
        "value": _number(m.value),
        "standard_uncertainty": _number(m.u),
        "degrees_of_freedom": _number(m.df),
    }


def _interval(i: Interval) -> list[float | None]:
    return [_number(i.low), _number(i.high)]


def _nested(need: NestedNeed) -> dict[str, Any]:
    return {
        "needed": need.needed,
        "values_in_each": need.inside,
        "needed_with_twice_as_many": need.needed_twice,
        "standard_deviation_between": need.between,
        "standard_deviation_below": need.below,
    }


def comparison_json(c: Comparison) -> dict[str, Any]:
    """A comparison; values in ``unit``, what is infinite or unknown as None."""

    def group(g: Any) -> dict[str, Any]:
        values = {s.electrode: _number(s.value) for s in g.group.samples}
        return {
            "name": g.name,
            "n": g.n,
            "mean": _measured(g.mean),
            "s": _number(g.s),
            "interval": _interval(g.interval),
            "letters": g.letters,
            "values": values,
        }

    return {
        "finding": c.finding,
        "condition": c.condition,
        "unit": c.unit,
        "by": c.by,
        "independent_values": c.independent,
        "confidence": c.level,
        "method": c.test,
        "reason": c.reason,
        "groups": [group(g) for g in c.groups],
        "not_tested": [group(g) for g in c.apart],
        "pairs": [
            {
                "first": p.first,
                "second": p.second,
                "difference": _measured(p.difference),
                "interval": _interval(p.interval),
                "ratio": _measured(p.ratio),
                "ratio_interval": _interval(p.ratio_interval),
                "p": p.p,
                "different": p.different,
                "same": p.same,
                "margin": p.margin,
                "smallest_visible_difference": _number(p.visible),
                "electrodes_needed": p.needed,
                "nested_plan": None if p.nested is None else _nested(p.nested),
            }
            for p in c.pairs
        ],
        "alternatives": [
            {
                "method": a.method,
                "p": a.p,
                "also_different": list(a.adds),
                "not_shown": list(a.takes),
                "able": a.able,
                "note": a.note,
            }
            for a in c.alternatives
        ],
        "depends_on_method": c.depends,
        "missing": list(c.missing),
        "notes": list(c.notes),
    }


def factors_json(c: FactorComparison) -> dict[str, Any]:
    """Effects of several attributes; values in ``unit``."""
    return {
        "finding": c.finding,
        "condition": c.condition,
        "unit": c.unit,
        "by": list(c.by),
        "electrodes": c.n,
        "effects": [
            {"effect": e.name, "df": e.df, "f": _number(e.f), "p": _number(e.p)} for e in c.found.effects
        ],
        "residual_df": c.found.df,
        "residual_s": c.found.residual,
        "pairs": {
            name: [
                {
                    "first": c.found.levels[name][p.first],
                    "second": c.found.levels[name][p.second],
                    "difference": _measured(p.difference),
                    "interval": [_number(p.low), _number(p.high)],
                    "p": p.p,
                    "different": p.different,
                }
                for p in pairs
            ]
            for name, pairs in c.found.pairs.items()
        },
        "notes": list(c.notes),
    }


def choice_json(choice: Choice) -> dict[str, Any]:
    """The choice: verdicts, ranking, what it hangs on, and the explanation with its findings."""
    return {
        "format": 1,
        "leader": choice.leader or None,
        "proven": choice.proven,
        "confidence": choice.level,
        "candidates": list(choice.candidates),
        "musts": [
            {
                "candidate": r.candidate,
                "must": r.must.label,
                "verdict": r.verdict,
                "why": r.why,
                "margin": _measured(r.margin),
                "interval": _interval(r.interval),
                "unit": r.must.unit,
            }
            for r in choice.musts
        ],
        "ranking": [
            {
                "candidate": r.candidate,
                "desirability": _measured(r.desirability),
                "interval": _interval(r.interval),
                "probability_best": r.best,
                "places": list(r.places),
                "not_dominated": r.on_front,
                "wants": {w.label: part for w, part in zip(choice.criteria.wants, r.parts, strict=True)},
            }
            for r in choice.ranked
        ],
        "failed": list(choice.failed),
        "unranked": list(choice.unranked),
        "weights": [
            {
                "want": m.want.label,
                "weight": m.want.weight,
                "lowered_to": _number(m.down),
                "then": m.down_to,
                "raised_to": _number(m.up),
                "then_raised": m.up_to,
            }
            for m in choice.weights
        ],
        "musts_dropped": [
            {"must": d.must, "frees": list(d.frees), "leader": d.leader, "changes": d.changes}
            for d in choice.dropped
        ],
        "explanation": [
            {"kind": c.kind, "text": c.text, "about": list(c.about), "findings": list(c.findings)}
            for c in explain(choice)
        ],
        "notes": list(choice.notes),
    }
