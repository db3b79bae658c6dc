"""A person's decisions: written to adjustments.toml before the page says so, and taken back."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from pydantic import BaseModel, ConfigDict, Field

from halfcell.errors import StudyError

if TYPE_CHECKING:
    from halfcell.app.desk import Desk
    from halfcell.study.decisions import Decisions

router = APIRouter()


class Decide(BaseModel):
    """Decisions to add, as adjustments.toml writes them ("kind", "file", quantities as text)."""

    model_config = ConfigDict(extra="forbid")
    decisions: list[dict[str, Any]] = Field(min_length=1, max_length=500)
    replaces: list[dict[str, Any]] = Field(default_factory=list)
    """Earlier decisions on the same thing to take out: their kind and file."""


@router.post("/decide")
def decide(request: Request, asked: Decide) -> dict[str, Any]:
    """Add decisions; all of them or none. The answer comes when they are on disk."""
    desk: Desk = request.app.state.desk
    return _told(desk, desk.history().do(lambda: desk.write(asked.decisions, asked.replaces)))


class Without(BaseModel):
    """Decisions to take out: the keys and values each must have."""

    model_config = ConfigDict(extra="forbid")
    without: list[dict[str, Any]] = Field(min_length=1, max_length=500)


@router.post("/decide/without")
def without(request: Request, asked: Without) -> dict[str, Any]:
    """Take decisions out, so that the automatic result stands again."""
    desk: Desk = request.app.state.desk
    return _told(desk, desk.history().do(lambda: desk.write([], asked.without)))


@router.post("/undo")
def undo(request: Request) -> dict[str, Any]:
    """Take the last decision of this server back."""
    desk: Desk = request.app.state.desk
    return _told(desk, desk.history().undo())


@router.post("/redo")
def redo(request: Request) -> dict[str, Any]:
    """Make the decision taken back last again."""
    desk: Desk = request.app.state.desk
    return _told(desk, desk.history().redo())


@router.get("/decided")
def decided(request: Request) -> dict[str, Any]:
    """What can be taken back or made again."""
    desk: Desk = request.app.state.desk
    if desk.folder is None:
        raise StudyError("No study is open.")
    history = desk.history()
    return {"undo": len(history.done), "redo": len(history.undone)}


def _told(desk: Desk, now: Decisions) -> dict[str, Any]:
    history = desk.history()
    desk.refresh()
    return {
        "count": len(now.decisions),
        "undo": len(history.done),
        "redo": len(history.undone),
        "edition": desk.edition(),
    }
