"""Quantifies: a current–time record with its additions, as the analysis sees it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from fastapi import APIRouter, Request

from halfcell.errors import StudyError

if TYPE_CHECKING:
    from halfcell.app.desk import Desk

router = APIRouter()


@router.get("/quantifies/additions")
def additions(request: Request, file: str) -> dict[str, Any]:
    """Trace, additions and plateaus of a record: s, A."""
    desk: Desk = request.app.state.desk
    shown = (
        [e for e in desk.analysis.exhibits if e.kind == "additions trace" and e.recordings[:1] == (file,)]
        if desk.analysis
        else []
    )
    if not shown:
        raise StudyError(f"There is no record of additions {file!r} in the newest analysis.")
    data = shown[0].data
    names = ("time", "current", "additions", "unlogged", "plateau_start", "plateau_end", "plateau", "levels")
    found = {name: np.asarray(data[name], float).tolist() for name in names}
    decided = [
        a.model_dump(mode="json")
        for a in desk.study().decisions(file, "add step", "remove step", "move step")
    ]
    return found | {"decided": [{"kind": d["kind"], "time": d["time"], "to": d.get("to")} for d in decided]}
