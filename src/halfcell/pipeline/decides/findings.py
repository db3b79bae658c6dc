"""The findings that comparing and choosing add, each with what it rests on."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from halfcell.choice.address import against, subject
from halfcell.choice.estimates import Column, Estimate, from_samples
from halfcell.finding import Finding
from halfcell.pipeline.methods import METHODS
from halfcell.results import Measured

if TYPE_CHECKING:
    from halfcell.choice.choose import Choice
    from halfcell.choice.criteria import Must, Want
    from halfcell.comparison.compare import Comparison
    from halfcell.comparison.result import PairResult


def _made(
    name: str,
    measured: Measured,
    method: str,
    *,
    unit: str = "1",
    group: str = "",
    condition: str = "",
    text: str = "",
    settings: Mapping[str, Any] | None = None,
    rests_on: Sequence[str] = (),
    recordings: Sequence[str] = (),
    notes: Sequence[str] = (),
) -> Finding:
    return Finding(
        name=name,
        value=measured.value,
        standard_uncertainty=measured.u,
        degrees_of_freedom=measured.df,
        unit=unit,
        group=group,
        condition=condition,
        text=text,
        recordings=tuple(dict.fromkeys(recordings)),
        method=method,
        source=METHODS[method].source,
        settings={**(settings or {}), "rests_on": list(dict.fromkeys(rests_on))},
        notes=tuple(n for n in (measured.why, *notes) if n),
    )


def _exact(value: float, why: str = "") -> Measured:
    return Measured(value=value, why=why)


def _mean(estimate: Estimate, unit: str, level: float) -> Finding:
    return _made(
        "group_mean",
        estimate.mean,
        "mean over electrodes",
        unit=unit,
        group=estimate.candidate,
        condition=subject(estimate.column.finding, estimate.column.condition),
        settings={"electrodes": estimate.n, "confidence": level},
        rests_on=estimate.findings,
        recordings=estimate.recordings,
    )


def comparison_findings(comparisons: Iterable[Comparison]) -> tuple[Finding, ...]:
    """Means, differences, ratios and verdicts of all comparisons."""
    out: list[Finding] = []
    for c in comparisons:
        about = subject(c.finding, c.condition)
        column = Column(finding=c.finding, condition=c.condition)
        out += [
            _mean(from_samples(g.name, column, g.group.samples), c.unit, c.level)
            for g in (*c.groups, *c.apart)
        ]
        for pair in c.pairs:
            out += _pair(pair, c, about)
    return tuple(out)


def _pair(pair: PairResult, c: Comparison, about: str) -> list[Finding]:
    first, second = c.group(pair.first), c.group(pair.second)
    rests_on = [f"group_mean | {g.name} | {about}" for g in (first, second)]
    files = [r for g in (first, second) for s in g.group.samples for r in s.recordings]
    base: dict[str, Any] = {"group": pair.name, "condition": about, "rests_on": rests_on, "recordings": files}
    settings = {
        "confidence": c.level,
        "simultaneous interval": [pair.interval.low, pair.interval.high],
        "adjusted p": pair.p,
    }
    if pair.margin is not None:
        settings |= {"margin": pair.margin, "p of equivalence": pair.p_same}
    word = "different" if pair.different else "same within the margin" if pair.same else "not shown to differ"
    ratio = {"confidence": c.level, "interval": [pair.ratio_interval.low, pair.ratio_interval.high]}
    power = {"chance": 0.8, "standard deviations": [first.s, second.s], "electrodes": [first.n, second.n]}
    needed = math.nan if pair.needed is None else float(pair.needed)
    return [
        _made("mean_difference", pair.difference, "pairs by Welch's t", unit=c.unit, settings=settings, **base),
        _made("mean_ratio", pair.ratio, "ratio of means by Fieller", settings=ratio, **base),
        _made("difference_shown", _exact(pair.p), _verdict_method(pair), text=word, settings=settings, **base),
        _made("visible_difference", _exact(pair.visible, _PLANNED), "power of Welch's t", unit=c.unit, settings=power, **base),
        _made("electrodes_needed", _exact(needed, "more than 1000" if pair.needed is None else _PLANNED), "power of Welch's t", settings={**power, "difference": pair.sought}, notes=_simulated(pair, c), **base),
    ]  # fmt: skip


def _simulated(pair: PairResult, c: Comparison) -> tuple[str, ...]:
    """The number by simulation of the levels of scatter, where each independent value is a mean of several."""
    n = pair.nested
    if n is None:
        return ()
    needed = "above 200" if n.needed is None else str(n.needed)
    twice = "above 200" if n.needed_twice is None else str(n.needed_twice)
    parts = "electrodes a batch" if c.independent == "batches" else "values an electrode"
    return (f"by simulation {needed} {c.independent} with {n.inside} {parts}, {twice} with {2 * n.inside}",)


_PLANNED = "a plan from the present scatter, not a measured value"


def _verdict_method(pair: PairResult) -> str:
    return "two one-sided tests" if pair.same and not pair.different else "pairs by Welch's t"


def choice_findings(choice: Choice) -> tuple[Finding, ...]:
    """Means, verdicts, desirabilities and probabilities of the choice."""
    asked: list[Must | Want] = [*choice.criteria.musts, *choice.criteria.wants]
    units = {(c.finding, c.condition or ""): c.unit for c in asked}
    numeric = {(c.finding, c.condition or "") for c in choice.criteria.wants} | {
        (m.finding, m.condition or "") for m in choice.criteria.musts if m.equals is None
    }
    out = [
        _mean(e, units[e.column.finding, e.column.condition], choice.level)
        for e in choice.estimates
        if (e.column.finding, e.column.condition) in numeric and e.known
    ]
    return (*out, *_verdicts(choice), *_ranking(choice), *_hanging(choice))


def _verdicts(choice: Choice) -> list[Finding]:
    out = []
    for r in choice.musts:
        must, about = r.must, subject(r.must.finding, r.must.condition or "")
        numeric = must.equals is None
        files = r.estimate.recordings
        rests_on = (
            [f"group_mean | {r.candidate} | {about}"] if numeric and r.estimate.known else r.estimate.findings
        )
        settings = {"must": must.label, "confidence": choice.level, "because": must.because}
        if numeric:
            settings["interval"] = [r.interval.low, r.interval.high]
        base: dict[str, Any] = {
            "group": r.candidate,
            "condition": must.label,
            "rests_on": rests_on,
            "recordings": files,
        }
        out.append(
            _made(
                "must_verdict",
                _exact(math.nan),
                "must by interval",
                text=r.verdict,
                settings=settings,
                notes=(r.why, *r.words),
                **base,
            )
        )
        if numeric and r.estimate.known:
            out.append(
                _made("must_margin", r.margin, "must by interval", unit=must.unit, settings=settings, **base)
            )
        if r.settling is not None and r.settling.more is not None:
            more = _exact(float(r.settling.more), _PLANNED)
            planned = {"what": r.settling.what, "chance": r.settling.chance}
            out.append(_made("electrodes_to_decide", more, "must by interval", settings=planned, **base))
    return out


def _draws(choice: Choice) -> dict[str, Any]:
    return {"draws": choice.count, "seed": choice.seed, "confidence": choice.level}


def _sources(choice: Choice, *names: str) -> dict[str, Any]:
    wants = {(w.finding, w.condition or "") for w in choice.criteria.wants}
    mine = [
        e
        for e in choice.estimates
        if e.candidate in names and (e.column.finding, e.column.condition) in wants
    ]
    return {
        "rests_on": [
            f"group_mean | {e.candidate} | {subject(e.column.finding, e.column.condition)}" for e in mine
        ],
        "recordings": [r for e in mine for r in e.recordings],
    }


def _ranking(choice: Choice) -> list[Finding]:
    out = []
    weights = {w.label: w.weight for w in choice.criteria.wants}
    for i, r in enumerate(choice.ranked):
        base: dict[str, Any] = {"group": r.candidate, **_sources(choice, r.candidate)}
        everyone = {"group": r.candidate, **_sources(choice, *(x.candidate for x in choice.ranked))}
        for want, part in zip(choice.criteria.wants, r.parts, strict=True):
            shape = {
                "aim": want.aim,
                "low": want.low,
                "high": want.high,
                "unit": want.unit,
                "shape": want.shape,
            }
            about = subject(want.finding, want.condition or "")
            own = {**base, "rests_on": [f"group_mean | {r.candidate} | {about}"], "condition": about}
            out.append(
                _made(
                    "desirability",
                    _exact(part, "at the mean; the overall desirability carries the uncertainty"),
                    "desirability",
                    settings=shape,
                    **own,
                )
            )
        whole = {**_draws(choice), "weights": weights, "interval": [r.interval.low, r.interval.high]}
        out += [
            _made("desirability", r.desirability, "desirability", settings=whole, **base),
            _made("probability_best", _exact(r.best, _counted(choice)), "draws of the means", settings=_draws(choice), **everyone),
            _made("place", _exact(float(i + 1), f"between {r.places[0]} and {r.places[1]} at the stated confidence"), "draws of the means", settings=_draws(choice), **everyone),
            _made("not_dominated", _exact(r.on_front, _counted(choice)), "draws of the means", settings=_draws(choice), **everyone),
        ]  # fmt: skip
    for v in choice.versus:
        pair = {"group": against(v.leader, v.other), **_sources(choice, v.leader, v.other)}
        span = {**_draws(choice), "interval": [v.interval.low, v.interval.high]}
        out.append(
            _made("desirability_difference", v.difference, "draws of the means", settings=span, **pair)
        )
        out.append(
            _made(
                "probability_better",
                _exact(v.better, _counted(choice)),
                "draws of the means",
                settings=_draws(choice),
                **pair,
            )
        )
    return out


def _counted(choice: Choice) -> str:
    return f"a share of {choice.count} draws"


def _hanging(choice: Choice) -> list[Finding]:
    out = []
    for move in choice.weights:
        about = subject(move.want.finding, move.want.condition or "")
        for value, name, way in ((move.down, move.down_to, "lowered"), (move.up, move.up_to, "raised")):
            if value is not None:
                base = _sources(choice, choice.leader, name)
                why = "exact for the present means"
                out.append(
                    _made(
                        "weight_turning_point",
                        _exact(value, why),
                        "turning point of a weight",
                        group=name,
                        condition=f"{about}, {way}",
                        settings={"weight now": move.want.weight, "leads now": choice.leader},
                        **base,
                    )
                )
    advice = choice.advice
    if advice is not None and advice.more:
        settings = {**_draws(choice), "probability reached": advice.reached, "matters most": advice.weighs}
        out.append(
            _made(
                "electrodes_to_decide",
                _exact(float(advice.more), _PLANNED),
                "draws of the means",
                group=against(*advice.candidates),
                settings=settings,
                **_sources(choice, *advice.candidates),
            )
        )
    return out
