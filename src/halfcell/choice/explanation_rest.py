"""The second half of the explanation: what the choice hangs on, and what to measure to be surer."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from halfcell.choice.address import against, subject
from halfcell.choice.wording import Claim, Writer, chance, listed
from halfcell.units import number

if TYPE_CHECKING:
    from halfcell.choice.choose import Choice
    from halfcell.choice.sensitivity import WeightMove


def hanging(choice: Choice, writer: Writer) -> list[Claim]:
    """Which weight or must, if changed, would change the leader."""
    claims = []
    moving = [m for m in choice.weights if not m.fixed]
    if len(choice.ranked) > 1 and moving:
        claims += [_moving(choice, move, writer) for move in moving]
    elif len(choice.ranked) > 1 and choice.weights:
        claims.append(
            writer.claim(
                "weight",
                f"{choice.leader} keeps the lead whatever the weight of any one want.",
                choice.leader,
            )
        )
    for drop in choice.dropped:
        if drop.changes and drop.leader:
            claims.append(
                writer.claim("must", f"Without “{drop.must}”, {drop.leader} would lead.", drop.leader)
            )
    return claims


def _moving(choice: Choice, move: WeightMove, writer: Writer) -> Claim:
    about = subject(move.want.finding, move.want.condition or "")
    parts, others = [], []
    if move.up is not None:
        limit = writer.plain(number(move.up), "weight_turning_point", move.up_to, f"{about}, raised")
        parts.append(f"to {move.up_to} when it is raised to {limit}")
        others.append(move.up_to)
    if move.down is not None:
        limit = writer.plain(number(move.down), "weight_turning_point", move.down_to, f"{about}, lowered")
        parts.append(f"to {move.down_to} when it is lowered to {limit}")
        others.append(move.down_to)
    text = f"With the weight of {move.want.label} at {move.want.weight:g}, {choice.leader} leads; the lead passes {listed(parts)}."
    return writer.claim("weight", text, choice.leader, *others)


def measuring(choice: Choice, writer: Writer) -> list[Claim]:
    """What further measurement would make the choice surer."""
    advice = choice.advice
    if choice.proven:
        return [_closest(choice, writer)]
    if advice is None or not choice.versus:
        return []
    pair = against(*advice.candidates)
    both = listed(advice.candidates)
    if advice.more is None:
        text = f"{both} are so alike in desirability that more electrodes would hardly tell them apart; choose between them for another reason."
    elif advice.more == 0:
        return []
    else:
        more = writer.plain(str(advice.more), "electrodes_to_decide", pair)
        word = "electrode" if advice.more == 1 else "electrodes"
        text = (
            f"To be surer, make {more} more {word} each of {both} and measure above all the {advice.weighs}: if means and scatter "
            f"stay as they are, the probability that {advice.candidates[0]} is the better of the two reaches {chance(advice.reached)}."
        )
        writer.plain("", "probability_better", pair)
    return [writer.claim("measure", text, *advice.candidates)]


def _closest(choice: Choice, writer: Writer) -> Claim:
    """A proven choice needs no further electrode; what it clears by least is said."""
    found = [
        r
        for r in choice.musts
        if r.candidate == choice.leader and math.isfinite(r.margin.value) and r.margin.u > 0
    ]
    text = f"No further electrode is needed for this choice at {100 * choice.level:g} %."
    if found:
        near = min(found, key=lambda r: r.margin.value / r.margin.u)
        by = writer.value(near.margin, near.must.unit, "must_margin", choice.leader, near.must.label)
        text += f" The must it clears by least for its uncertainty is “{near.must.label}”, by {by}."
    return writer.claim("measure", text, choice.leader)
