"""A person's decisions, written before the page says so; and undo and redo of every change of the study."""

from __future__ import annotations

import contextlib
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from pydantic import BaseModel, ConfigDict, Field, ValidationError

from halfcell.app.baselines import in_words, kept_by_hand
from halfcell.app.clash import Clash, clash_error
from halfcell.errors import StudyError
from halfcell.study.adjustments import BaselineWindow

if TYPE_CHECKING:
    from halfcell.app.desk import Desk

router = APIRouter()

_COPIES = "; the copied files stay in the folder, without a row, and are not analysed"


class Decide(BaseModel):
    """Decisions to add, as adjustments.toml writes them ("kind", "file", quantities as text)."""

    model_config = ConfigDict(extra="forbid")
    decisions: list[dict[str, Any]] = Field(min_length=1, max_length=500)
    replaces: list[dict[str, Any]] = Field(default_factory=list)
    """Earlier decisions on the same thing to take out: their kind and file."""
    baselines: dict[str, str] = Field(default_factory=dict)
    """The baselines by hand that the page knew of, by file, in its words; "" for none."""


@router.post("/decide")
def decide(request: Request, asked: Decide) -> dict[str, Any]:
    """Add decisions; all of them or none. The answer comes when they are on disk.

    Raises ClashError where others kept another baseline since the page was told of it.
    """
    from halfcell.study.decisions import change, read_decisions

    desk: Desk = request.app.state.desk
    with desk.edit() as folder:
        before = read_decisions(folder)
        clashes = _overtaken(asked, kept_by_hand(before.decisions))
        if clashes:
            raise clash_error(clashes)
        change(folder, add=asked.decisions, without=asked.replaces, expected=before.hash)
    return _done(desk)


def _overtaken(asked: Decide, now: dict[str, str]) -> list[Clash]:
    found = []
    for decision in asked.decisions:
        file = str(decision.get("file", ""))
        there = now.get(file, "")
        if decision.get("kind") != "baseline window" or there == asked.baselines.get(file, there):
            continue
        try:
            mine = in_words(BaselineWindow.model_validate(decision).windows)
        except ValidationError:
            continue  # it is refused in words where it is written
        if there != mine:
            found.append(Clash(at=file, what=f"baseline of {file}", yours=mine, now=there))
    return found


class Without(BaseModel):
    """Decisions to take out: the keys and values each must have."""

    model_config = ConfigDict(extra="forbid")
    without: list[dict[str, Any]] = Field(min_length=1, max_length=500)


@router.post("/decide/without")
def without(request: Request, asked: Without) -> dict[str, Any]:
    """Take decisions out, so that the automatic result stands again."""
    desk: Desk = request.app.state.desk
    desk.write([], asked.without)
    return _done(desk)


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


def _done(desk: Desk) -> dict[str, Any]:
    """What the window that changed something needs to know: the baselines by hand that stand now, too."""
    from halfcell.study.decisions import read_decisions

    with contextlib.suppress(StudyError):  # a file with mistakes is named on every page
        return standing(desk) | {"baselines": kept_by_hand(read_decisions(desk.opened()).decisions)}
    return standing(desk)


def _turned(request: Request, *, back: bool) -> dict[str, Any]:
    desk: Desk = request.app.state.desk
    history = desk.history()
    step = history.undo() if back else history.redo()
    desk.refresh()
    return _done(desk) | {"what": step.what + (_COPIES if back and step.adds_files else "")}
