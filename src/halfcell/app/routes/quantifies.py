"""Quantifies: a record with its additions, and a calibration with its points, as the analysis sees them."""

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


@router.get("/quantifies/calibration")
def calibration(request: Request, key: str) -> dict[str, Any]:
    """A calibration's points, line, bands and residuals: mol/m³, A; points left out carry their reason."""
    desk: Desk = request.app.state.desk
    found = next((e for e in desk.analysis.exhibits if e.key == key), None) if desk.analysis else None
    if found is None or found.kind != "calibration":
        raise StudyError(f"There is no calibration {key!r} in the newest analysis.")
    data = found.data
    points = [
        {"x": float(x), "y": float(y), "file": file, "used": bool(used), "why": ""}
        for x, y, file, used in zip(data["x"], data["y"], data["files"], data["used"], strict=True)
    ]
    points += [
        {"x": float(x), "y": float(y), "file": file, "used": False, "why": why}
        for x, y, file, why in zip(
            data["rejected_x"], data["rejected_y"], data["rejected_files"], data["rejected_why"], strict=True
        )
    ]
    names = ("line_x", "line", "confidence", "prediction", "residual_x", "residual")
    return {
        "points": sorted(points, key=lambda p: (p["x"], p["file"])),
        "level": float(data["level"]),
        **{name: np.asarray(data[name], float).tolist() for name in names},
    }
