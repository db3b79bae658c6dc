"""Responds: baselines under the hand, and any voltammograms over each other."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from pydantic import BaseModel, ConfigDict, Field

from halfcell.app.baselines import Prepareds, shown
from halfcell.app.traces import recording_of
from halfcell.errors import StudyError
from halfcell.units import parse

if TYPE_CHECKING:
    from halfcell.app.desk import Desk

router = APIRouter()
_PREPARED = "prepared"


class TryBaseline(BaseModel):
    """Windows as adjustments.toml writes them ("0.12 V"); none: those that stand, by hand or found."""

    model_config = ConfigDict(extra="forbid")
    file: str
    direction: int = Field(ge=-1, le=1)
    windows: list[tuple[str, str]] | None = Field(None, max_length=4)
    sequence: int = 0


@router.post("/responds/try")
def attempt(request: Request, asked: TryBaseline) -> dict[str, Any]:
    """The peak over these windows, as the analysis would give it; nothing is written."""
    from halfcell.pipeline.responds.tried import tried

    desk: Desk = request.app.state.desk
    kept = getattr(request.app.state, _PREPARED, None)
    if kept is None:
        kept = Prepareds()
        setattr(request.app.state, _PREPARED, kept)
    prepared = kept.of(desk.study(), desk.edition(), asked.file, asked.direction)
    windows = None
    if asked.windows:
        windows = [(_volts(a), _volts(b)) for a, b in asked.windows]
    return {"sequence": asked.sequence} | shown(prepared, tried(prepared, windows))


@router.get("/responds/curve")
def curve(request: Request, number: int, file: str, cycle: int = 0) -> dict[str, Any]:
    """A voltammogram, or one cycle of it (from 1), thinned: V and A.

    Raises StudyError where the record of that number is no longer of that ``file``.
    """
    from halfcell.app.traces import thinned
    from halfcell.pipeline.responds.voltammogram import sweeps

    desk: Desk = request.app.state.desk
    run = desk.run(number)
    if run.file != file:
        raise StudyError(f"Record {number + 1} of runs.csv is {run.file} now; look at the page anew.")
    record = recording_of(desk.study(), run)
    found = sweeps(record)
    if not 0 <= cycle <= found.cycles:
        raise StudyError(f"{run.file} has {found.cycles} cycles; cycle {cycle} is not among them.")
    parts = [s for s in found.segments if s.cycle == cycle] if cycle else list(found.segments)
    start, end = parts[0].start, parts[-1].stop
    assert record.potential is not None
    index = thinned(record.potential, record.current, 1500, start, end)
    return {
        "x": record.potential[index].tolist(),
        "y": record.current[index].tolist(),
        "cycles": found.cycles,
    }


def _volts(text: str) -> float:
    return parse(text, "V", example="0.12 V")
