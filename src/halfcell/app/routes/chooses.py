"""Chooses: the ranking under the hand, and keeping what was tried."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from pydantic import BaseModel, ConfigDict, Field

from halfcell.app.whatif import as_data, tried
from halfcell.errors import StudyError

if TYPE_CHECKING:
    from halfcell.app.desk import Desk

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
    if desk.analysis is None or desk.folder is None:
        raise StudyError("The analysis is not finished yet; the criteria can be changed when it is.")
    choice, seen = tried(desk.analysis, asked.weights, asked.limits, asked.level), asked.seen
    edit = StudyEdit(desk.folder)
    now = sliders(desk.study())
    if [w["label"] for w in now["wants"]] != [w["label"] for w in sliders(desk.analysis.study)["wants"]]:
        raise StudyError("The criteria in study.toml were changed meanwhile; the page shows the newest now.")
    if len(seen.weights) != len(asked.weights):
        raise StudyError("The page shows other criteria than the study has; open it again.")
    for i, (old, new) in enumerate(zip(seen.weights, asked.weights, strict=True)):
        if old != new:
            _unchanged(now["wants"][i]["label"], old, now["wants"][i]["weight"])
            edit.set(f"choice.wants.{i + 1}.weight", new)
    stands = {limit["number"]: limit for limit in now["limits"]}
    for i, value in asked.limits.items():
        if seen.limits.get(i) == value:
            continue
        must = choice.criteria.musts[i]
        _unchanged(must.label, seen.limits.get(i), stands[i]["limit"])
        side = "at_most" if must.at_most is not None else "at_least"
        edit.set(
            f"choice.musts.{i + 1}.{side}", f"{value:g} {must.unit}" if must.unit != "1" else f"{value:g}"
        )
    if seen.level != asked.level:
        _unchanged("the confidence", seen.level, now["level"])
        edit.set("analysis.confidence", asked.level)
    edit.save()
    desk.refresh()
    return {"edition": desk.edition()}


def _unchanged(what: str, seen: float | None, now: float) -> None:
    if seen is None or abs(seen - now) > 1e-9 * max(abs(seen), abs(now)):
        raise StudyError(
            f"{what[:1].upper()}{what[1:]} was changed to {now:g} by another window or by hand meanwhile. Nothing was "
            "written; what you have in hand is still here. Look at it again, then keep it."
        )
