"""The study's criteria as plain values in the findings' units."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from halfcell.choice.criteria import Criteria, Must, Want
from halfcell.comparison.compare import Margin
from halfcell.errors import HalfcellError
from halfcell.units import factor, parse
from halfcell.vocabulary import TERMS

if TYPE_CHECKING:
    from halfcell.study.settings_choice import ChoiceSettings
    from halfcell.study.settings_choice import Must as WrittenMust
    from halfcell.study.settings_choice import Want as WrittenWant


def criteria_of(settings: ChoiceSettings) -> Criteria:
    """Musts and wants with their limits in the unit each finding is reported in.

    Raises UnitError or MethodError for a limit of another kind; ``halfcell check`` names all of them.
    """
    return Criteria(
        musts=tuple(_must(m) for m in settings.musts), wants=tuple(_want(w) for w in settings.wants)
    )


def _unit(finding: str) -> str:
    return TERMS[finding].unit if finding in TERMS else "1"


def _value(text: str | None, finding: str) -> float | None:
    if text is None:
        return None
    unit = _unit(finding)
    example = "0.5" if unit == "1" else f"10 {unit}"
    return parse(text, unit, example=example)


def _must(must: WrittenMust) -> Must:
    return Must(
        finding=must.finding,
        unit=_unit(must.finding),
        at_most=_value(must.at_most, must.finding),
        at_least=_value(must.at_least, must.finding),
        equals=must.equals,
        condition=must.condition or None,
        because=must.because,
    )


def _want(want: WrittenWant) -> Want:
    low, high = _value(want.low, want.finding), _value(want.high, want.finding)
    if low is None or high is None:
        raise HalfcellError(f"The want about {want.finding!r} needs a low and a high end of its range.")
    return Want(
        finding=want.finding,
        aim=want.aim,
        low=low,
        high=high,
        unit=_unit(want.finding),
        target=_value(want.target, want.finding),
        weight=want.weight,
        shape=want.shape,
        condition=want.condition or None,
    )


def limited(criteria: Criteria, limits: Mapping[str, str]) -> Criteria:
    """The criteria with other limits, by the finding's name. Raises HalfcellError where that is not one limit."""
    for finding, text in limits.items():
        found = [m for m in criteria.musts if m.finding == finding and m.equals is None]
        sides = [s for m in found for s in ("at_most", "at_least") if getattr(m, s) is not None]
        if len(sides) != 1:
            known = ", ".join(dict.fromkeys(m.finding for m in criteria.musts if m.equals is None)) or "none"
            raise HalfcellError(
                f"{finding!r} has {len(sides)} limits; one is needed to try another. Limits there are: {known}."
            )
        value = _value(text, finding)
        musts = tuple(_moved(m, sides[0], value) if m is found[0] else m for m in criteria.musts)
        criteria = replace(criteria, musts=musts)
    return criteria


def _moved(must: Must, side: str, value: float | None) -> Must:
    return replace(must, at_most=value) if side == "at_most" else replace(must, at_least=value)


def margin_of(text: str, finding: str) -> Margin:
    """A margin such as "5 %" (of the pair's mean) or "2 umol/L".

    A finding that is itself reported in percent takes "5 %" as percent of the mean too.
    """
    if text.strip().endswith("%"):
        return Margin(value=parse(text, "1", example="5 %"), relative=True)
    unit = _unit(finding)
    factor(unit or "1", unit or "1")
    return Margin(value=parse(text, unit, example=f"5 {unit}"))
