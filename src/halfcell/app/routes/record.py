"""One record: its thumbnail, its trace, its page."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from fastapi.responses import Response

from halfcell.app.pages import page
from halfcell.app.traces import abscissa, mark_of, own_file, packed, recording_of, thinned, thumbnail
from halfcell.errors import HalfcellError, StudyError

if TYPE_CHECKING:
    from halfcell.app.desk import Desk

router = APIRouter()

_KEEP = {"cache-control": "private, max-age=3600"}


@router.get("/record/{number}")
def record(request: Request, number: int) -> Response:
    """The page of one record: the trace, where it came from, and what was found in it."""
    desk: Desk = request.app.state.desk
    run, study = desk.run(number), desk.study()
    findings = [f for f in desk.analysis.findings if run.file in f.recordings] if desk.analysis else []
    values: dict[str, Any] = {
        "number": number,
        "mark": mark_of(study, run),
        "run": run,
        "found": findings,
        "recording": None,
        "trouble": "",
    }
    if run.technique != "micrograph":
        try:
            values["recording"] = recording_of(study, run)
        except (HalfcellError, OSError) as error:
            values["trouble"] = str(error)
    return page(request, "record.html", **values)


@router.get("/record/{number}/thumbnail")
def small(request: Request, number: int) -> Response:
    """A picture of a record for the grid."""
    desk: Desk = request.app.state.desk
    run, study = desk.run(number), desk.study()
    if run.technique == "micrograph":
        return Response(_picture(own_file(study, run)), media_type="image/png", headers=_KEEP)
    recording = recording_of(study, run)
    x, _, _ = abscissa(recording, run.technique)
    return Response(thumbnail(x, recording.current), media_type="image/svg+xml", headers=_KEEP)


@router.get("/record/{number}/trace")
def trace(request: Request, number: int, points: int = 4000, start: int = 0, end: int = 0) -> Response:
    """The samples from ``start`` to ``end``, thinned: float64 x, float32 y, uint32 sample numbers."""
    desk: Desk = request.app.state.desk
    run = desk.run(number)
    if run.technique == "micrograph":
        raise StudyError(f"{run.file} is an image; it cannot be shown as a trace.")
    recording = recording_of(desk.study(), run)
    x, label, unit = abscissa(recording, run.technique)
    n = len(recording.current)
    end = end or n
    if not (0 <= start < end <= n) or not 10 <= points <= 100_000:
        raise StudyError(
            f"This record has samples 0 to {n}; {start} to {end} (with {points} points) cannot be shown."
        )
    index = thinned(x, recording.current, points, start, end)
    headers = {"x-count": str(len(index)), "x-samples": str(n), "x-label": label, "x-unit": unit}
    return Response(
        packed(x, recording.current, index), media_type="application/octet-stream", headers=headers
    )


def _picture(path: object) -> bytes:
    from pathlib import Path

    import numpy as np
    from PIL import Image

    from halfcell.readers import read_image

    image = read_image(Path(str(path)), name=str(path), metres_per_pixel=None)
    grey = Image.fromarray((np.clip(image.pixels, 0, 1) * 255).astype(np.uint8))
    grey.thumbnail((192, 144))
    out = io.BytesIO()
    grey.save(out, format="PNG")
    return out.getvalue()
