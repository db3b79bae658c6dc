"""Chooses: the ranking under the hand, and keeping what was tried."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from pydantic import BaseModel, ConfigDict, Field

from halfcell.app.clash import Clash, clash_error
from halfcell.app.whatif import as_data, tried
from halfcell.errors import StudyError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from halfcell.app.desk import Desk
    from halfcell.choice.criteria import Criteria

router = APIRouter()


class Try(BaseModel):
    """Weights in the order of the wants, limits by the number of the must, the confidence."""

    model_config = ConfigDict(extra="forbid", allow_inf_nan=False)
    weights: list[float] = Field(max_length=100)
    limits: dict[int, float] = Field(default_factory=dict, max_length=100)
    level: float = 0.95


class Keep(Try):
    """What to write, and what the page showed before: only what the person changed is written."""

    seen: Try
    about: list[str] = Field(max_length=200)
    """What the page says that each weight and limit is of."""


@router.post("/chooses/try")
def attempt(request: Request, asked: Try) -> dict[str, Any]:
    """The choice as it would be; nothing is written."""
    desk: Desk = request.app.state.desk
    if desk.analysis is None:
        raise StudyError("The analysis is not finished yet; the ranking can be tried when it is.")
    return as_data(tried(desk.analysis, asked.weights, asked.limits, asked.level))


@router.post("/chooses/keep")
def keep(request: Request, asked: Keep) -> dict[str, Any]:
    """Write the weights, limits and confidence that were changed to study.toml, comments kept.

    Answers when it is on disk. Raises StudyError when another changed the same thing meanwhile.
    """
    from halfcell.app.whatif import sliders
    from halfcell.study.edit import StudyEdit

    desk: Desk = request.app.state.desk
    if desk.analysis is None:
        raise StudyError("The analysis is not finished yet; the criteria can be changed when it is.")
    choice, seen = tried(desk.analysis, asked.weights, asked.limits, asked.level), asked.seen
    with desk.edit() as folder:
        edit = StudyEdit(folder)
        now = sliders(desk.study())
        if not asked.about == now["about"] == sliders(desk.analysis.study)["about"] or not (
            len(seen.weights) == len(asked.weights) == len(now["wants"])
        ):
            raise StudyError(
                "The criteria in study.toml were changed meanwhile. Nothing was written; load this page again."
            )
        clashes = []
        for at, what, key, old, new, there, unit in _fields(asked, now, choice.criteria):
            if _same(old, new) or _same(new, there):
                continue
            if not _same(old, there):
                clashes.append(Clash(at=at, what=what, yours=f"{new:g}", now=f"{there:g}"))
            edit.set(key, new if unit is None else f"{new:g} {unit}".removesuffix(" 1"))
        if clashes:
            raise clash_error(clashes)
        edit.save()
    return {"edition": desk.edition()}


def _fields(asked: Keep, now: dict[str, Any], criteria: Criteria) -> Iterator[tuple[Any, ...]]:
    """Of each field of the page: its name, words, key, value seen, value asked, value in the folder, unit of a limit."""
    for i, want in enumerate(now["wants"]):
        what = f"the weight of {want['label']}"
        yield (
            f"weight {i}",
            what,
            f"choice.wants.{i + 1}.weight",
            asked.seen.weights[i],
            asked.weights[i],
            want["weight"],
            None,
        )
    stands = {limit["number"]: limit["limit"] for limit in now["limits"]}
    for i, value in asked.limits.items():
        must = criteria.musts[i]
        key = f"choice.musts.{i + 1}.{'at_most' if must.at_most is not None else 'at_least'}"
        if i not in stands:
            raise StudyError(
                f"The limit on {must.label} is in study.toml no more; the page shows the newest now."
            )
        yield (
            f"limit {i}",
            f"the limit on {must.label}",
            key,
            asked.seen.limits.get(i),
            value,
            stands[i],
            must.unit,
        )
    yield "level", "the confidence", "analysis.confidence", asked.seen.level, asked.level, now["level"], None


def _same(a: float | None, b: float | None) -> bool:
    return a == b or (a is not None and b is not None and abs(a - b) <= 1e-9 * max(abs(a), abs(b)))
