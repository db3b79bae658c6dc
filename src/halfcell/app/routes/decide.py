"""A person's decisions, written before the page says so; and undo and redo of every change of the study."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from pydantic import BaseModel, ConfigDict, Field

if TYPE_CHECKING:
    from halfcell.app.desk import Desk

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
    desk.write(asked.decisions, asked.replaces)
    return standing(desk)


class Without(BaseModel):
    """Decisions to take out: the keys and values each must have."""

    model_config = ConfigDict(extra="forbid")
    without: list[dict[str, Any]] = Field(min_length=1, max_length=500)


@router.post("/decide/without")
def without(request: Request, asked: Without) -> dict[str, Any]:
    """Take decisions out, so that the automatic result stands again."""
    desk: Desk = request.app.state.desk
    desk.write([], asked.without)
    return standing(desk)


@router.post("/undo")
def undo(request: Request) -> dict[str, Any]:
    """Take the newest change of this study back."""
    return _turned(request, back=True)


@router.post("/redo")
def redo(request: Request) -> dict[str, Any]:
    """Make the change taken back last again."""
    return _turned(request, back=False)


class Leave(BaseModel):
    """Which way the step lies that is passed over."""

    model_config = ConfigDict(extra="forbid")
    back: bool


@router.post("/undo/leave")
def leave(request: Request, asked: Leave) -> dict[str, Any]:
    """Pass over a step that others have made impossible to take: its change stays as it is."""
    desk: Desk = request.app.state.desk
    step = desk.history().leave(back=asked.back)
    return standing(desk) | {"what": step.what}


@router.get("/decided")
def decided(request: Request) -> dict[str, Any]:
    """What can be taken back or made again, in words."""
    return standing(request.app.state.desk)


def standing(desk: Desk) -> dict[str, Any]:
    """What can be taken back or made again, and the edition of the folder."""
    return asdict(desk.history().standing()) | {"edition": desk.edition()}


def _turned(request: Request, *, back: bool) -> dict[str, Any]:
    desk: Desk = request.app.state.desk
    history = desk.history()
    step = history.undo() if back else history.redo()
    desk.refresh()
    return standing(desk) | {"what": step.what}
