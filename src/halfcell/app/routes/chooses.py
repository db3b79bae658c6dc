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


@router.post("/chooses/try")
def attempt(request: Request, asked: Try) -> dict[str, Any]:
    """The choice as it would be; nothing is written."""
    desk: Desk = request.app.state.desk
    if desk.analysis is None:
        raise StudyError("The analysis is not finished yet; the ranking can be tried when it is.")
    return as_data(tried(desk.analysis, asked.weights, asked.limits, asked.level))


@router.post("/chooses/keep")
def keep(request: Request, asked: Try) -> dict[str, Any]:
    """Write weights, limits and confidence to study.toml, comments kept; answers when it is on disk."""
    from halfcell.study.edit import StudyEdit

    desk: Desk = request.app.state.desk
    if desk.analysis is None or desk.folder is None:
        raise StudyError("The analysis is not finished yet; the criteria can be changed when it is.")
    choice = tried(desk.analysis, asked.weights, asked.limits, asked.level)
    edit = StudyEdit(desk.folder)
    for i, weight in enumerate(asked.weights, 1):
        if edit.get(f"choice.wants.{i}.weight") != weight:
            edit.set(f"choice.wants.{i}.weight", weight)
    for i, value in asked.limits.items():
        must = choice.criteria.musts[i]
        side = "at_most" if must.at_most is not None else "at_least"
        edit.set(
            f"choice.musts.{i + 1}.{side}", f"{value:g} {must.unit}" if must.unit != "1" else f"{value:g}"
        )
    if desk.analysis.study.file.analysis.confidence != asked.level:
        edit.set("analysis.confidence", asked.level)
    edit.save()
    desk.refresh()
    return {"edition": desk.edition()}
