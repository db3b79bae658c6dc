"""The choice in plain English: verdict, reasons, runner-up, what it hangs on, what to measure.

Nothing is claimed that the interval does not support: a candidate is called best only where its
probability reaches the study's confidence, two candidates are called different only where the
interval of their difference excludes zero, and "not shown to differ" is never called "the same".
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from halfcell.choice.address import against, subject
from halfcell.choice.criteria import Must, Want, label_of, with_unit
from halfcell.choice.explanation_rest import hanging, measuring
from halfcell.choice.wording import Claim, Writer, chance, counted, listed, opened
from halfcell.results import Interval, Measured, effective_df
from halfcell.statistics.welch_size import family_alpha

if TYPE_CHECKING:
    from halfcell.choice.choose import Choice, Versus
    from halfcell.choice.estimates import Estimate
    from halfcell.choice.musts import MustResult


def explain(choice: Choice) -> tuple[Claim, ...]:
    """All claims in reading order; their texts joined by spaces are the explanation."""
    writer = Writer()
    claims = [_verdict(choice, writer)]
    if choice.leader:
        claims.append(_support(choice, writer))
        claims += [_against(choice, v, writer) for v in choice.versus]
    claims += [_eliminated(choice, name, writer) for name in choice.failed]
    claims += [
        Claim(kind="unranked", text=opened(f"{note}."), about=(note.partition(" cannot")[0],))
        for note in choice.notes
        if " cannot be ranked" in note
    ]
    claims += [_undecided(result, writer) for result in choice.undecided]
    claims += hanging(choice, writer)
    claims += measuring(choice, writer)
    return tuple(claims)


def text(choice: Choice) -> str:
    """The explanation as one paragraph."""
    return " ".join(claim.text for claim in explain(choice))


def _verdict(choice: Choice, writer: Writer) -> Claim:
    leader, asked = choice.leader, counted(len(choice.candidates), "candidate")
    if not leader:
        return _nobody(choice, writer)
    best = writer.plain(chance(choice.ranked[0].best), "probability_best", leader)
    doubts = choice.doubts(leader)
    if doubts:
        return writer.claim(
            "verdict",
            f"{leader} leads, on a condition that is still open: {listed([f'“{d.must.label}”' for d in doubts])} "
            f"{'is' if len(doubts) == 1 else 'are'} undecided for it. Its probability of being the best candidate that meets the musts is {best}.",
            leader,
        )
    if choice.proven and len(choice.ranked) == 1:
        return writer.claim(
            "verdict",
            f"{leader} goes forward: of {asked} it is the only one left, and it meets every must.",
            leader,
        )
    if choice.proven:
        return writer.claim(
            "verdict",
            f"{leader} goes forward: it meets every must, and its probability of being the best of those left is {best}.",
            leader,
        )
    rivals = [v.other for v in choice.versus if not v.real]
    tail = (
        f"it is not shown to be better than {listed(rivals, 'or')}" if rivals else "its lead is not certain"
    )
    return writer.claim(
        "verdict",
        f"{leader} leads and meets every must, but {tail}: its probability of being the best is {best}.",
        leader,
    )


def _nobody(choice: Choice, writer: Writer) -> Claim:
    if not choice.criteria.wants:
        return writer.claim(
            "verdict", "No wants are stated, so the candidates are judged by the musts and not ranked."
        )
    if choice.unranked:
        failed = f"{counted(len(choice.failed), 'candidate')} failed a must and " if choice.failed else ""
        lacks = "lacks" if len(choice.unranked) == 1 else "lack"
        return writer.claim(
            "verdict",
            f"No candidate can be ranked: {failed}{listed(choice.unranked)} {lacks} a wanted finding.",
        )
    return writer.claim(
        "verdict",
        f"No candidate goes forward: each of the {counted(len(choice.candidates), 'candidate')} fails a must.",
    )


def _support(choice: Choice, writer: Writer) -> Claim:
    leader, ranked = choice.leader, choice.ranked[0]
    parts = []
    for want, part in zip(choice.criteria.wants, ranked.parts, strict=True):
        found = choice.estimate(leader, want.finding, want.condition or "")
        assert found is not None
        about = subject(want.finding, want.condition or "")
        value = writer.value(found.mean, want.unit, "group_mean", leader, about)
        share = writer.plain(f"{part:.2f}", "desirability", leader, about)
        parts.append(f"{want.label} {value} (desirability {share})")
    whole = writer.value(ranked.desirability, "", "desirability", leader)
    return writer.claim("support", f"Its {listed(parts)} give an overall desirability of {whole}.", leader)


def _against(choice: Choice, versus: Versus, writer: Writer) -> Claim:
    leader, other = versus.leader, versus.other
    place = choice.place(other)
    assert place is not None
    second = choice.versus[0] is versus
    score = writer.value(place.desirability, "", "desirability", other)
    gap = writer.interval(versus.interval, "", "desirability_difference", against(leader, other))
    at = f"{100 * choice.level:g} % interval"
    opening = f"{other} is the runner-up with {score}" if second else f"{other} has {score}"
    real = _real_differences(choice, leader, other, writer)
    if versus.real:
        return writer.claim(
            "difference", f"{opening}; the difference is real ({at} {gap}).{real}", leader, other
        )
    return writer.claim(
        "no difference",
        f"{opening}; no real difference in desirability from {leader} is shown ({at} {gap}).{real}",
        leader,
        other,
    )


def _real_differences(choice: Choice, leader: str, other: str, writer: Writer) -> str:
    """Wants in which the two are shown to differ, by Welch's interval, simultaneous over all pairs of candidates."""
    better: list[str] = []
    worse: list[str] = []
    for want in choice.criteria.wants:
        a = choice.estimate(leader, want.finding, want.condition or "")
        b = choice.estimate(other, want.finding, want.condition or "")
        if a is None or b is None or want.aim == "target":
            continue
        gap = difference(a, b)
        if not _shown(choice, want, gap):
            continue
        about = subject(want.finding, want.condition or "")
        shown = f"{want.label} ({writer.value(a.mean, want.unit, 'group_mean', leader, about)} against {writer.value(b.mean, want.unit, 'group_mean', other, about)})"
        (better if (gap.value > 0) == (want.aim == "maximise") else worse).append(shown)
    parts = []
    if better:
        parts.append(f" {opened(leader)} is better in {listed(better)}.")
    if worse:
        parts.append(f" {opened(other)} is better in {listed(worse)}.")
    return "".join(parts)


def _shown(choice: Choice, want: Want, gap: Measured) -> bool:
    """Whether a difference stands at the family-wise level of all pairs, as in the comparison of groups."""
    found = [choice.estimate(name, want.finding, want.condition or "") for name in choice.candidates]
    numbers = tuple(e.n for e in found if e is not None and e.n > 1)
    alpha = family_alpha(1 - choice.level, numbers) if len(numbers) > 1 else 1 - choice.level
    interval = gap.interval(1 - alpha)
    return not interval.low <= 0 <= interval.high


def difference(a: Estimate, b: Estimate) -> Measured:
    """a − b with Welch's degrees of freedom; no uncertainty where one of them has none."""
    u = math.hypot(a.mean.u, b.mean.u) if a.repeatable and b.repeatable else math.nan
    df = effective_df([(a.mean.u, a.mean.df), (b.mean.u, b.mean.df)]) if math.isfinite(u) else math.inf
    return Measured(value=a.mean.value - b.mean.value, u=u, df=df)


def _eliminated(choice: Choice, name: str, writer: Writer) -> Claim:
    reasons = [_reason(r, writer) for r in choice.reasons(name)]
    return writer.claim("eliminated", f"{name} is eliminated: {listed(reasons)}.", name)


def _reason(result: MustResult, writer: Writer) -> str:
    must = result.must
    what = label_of(must.finding, must.condition or "")
    if must.equals is not None:
        right = sum(w.casefold() == must.equals.casefold() for w in result.words)
        share = writer.plain(f"{right} of {len(result.words)}", "must_verdict", result.candidate, must.label)
        return f"{what} must be “{must.equals}”, and {share} electrodes show that ({listed(tuple(dict.fromkeys(result.words)))})"
    about = subject(must.finding, must.condition or "")
    value = writer.value(result.estimate.mean, must.unit, "group_mean", result.candidate, about)
    span = writer.interval(
        result.interval, must.unit, "group_mean", result.candidate, about, result.estimate.mean.u
    )
    return f"{what} is {value} ({span}), and {_limit(must, result.interval)}"


def _limit(must: Must, interval: Interval) -> str:
    if must.at_most is not None and (must.at_least is None or interval.high > must.at_most):
        return f"at most {with_unit(must.at_most, must.unit)} is allowed"
    return f"at least {with_unit(must.at_least or 0.0, must.unit)} is needed"


def _undecided(result: MustResult, writer: Writer) -> Claim:
    name, must = result.candidate, result.must
    tail = ""
    if result.settling is not None and result.settling.more is not None:
        more = writer.plain(str(result.settling.more), "electrodes_to_decide", name, must.label)
        tail = f" About {more} more {result.settling.what} would settle it, if its mean and scatter stay as they are."
    elif result.settling is not None and result.estimate.repeatable:
        tail = (
            " It lies too near the limit for a few more electrodes to settle it."
            if must.equals is None
            else ""
        )
    if must.equals is not None or not result.estimate.repeatable:
        return writer.claim("undecided", f"“{must.label}” is undecided for {name}: {result.why}.{tail}", name)
    about = subject(must.finding, must.condition or "")
    span = writer.interval(result.interval, must.unit, "group_mean", name, about, result.estimate.mean.u)
    return writer.claim(
        "undecided",
        f"“{must.label}” is undecided for {name}: its interval, {span}, holds the limit.{tail}",
        name,
    )


__all__ = ["Claim", "Want", "difference", "explain", "text"]
