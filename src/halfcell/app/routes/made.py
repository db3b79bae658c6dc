"""Made: micrographs with their outlines, and the grid of electrodes."""

from __future__ import annotations

import io
import itertools
from typing import TYPE_CHECKING, Any

import numpy as np
from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import BaseModel, ConfigDict, Field

from halfcell.app.clash import Clash, clash_error
from halfcell.app.routes.editors import cells_of
from halfcell.app.traces import mark_of
from halfcell.errors import StudyError

if TYPE_CHECKING:
    from halfcell.app.desk import Desk
    from halfcell.pipeline import Exhibit

router = APIRouter()


class Cells(BaseModel):
    """Changes of the grid: electrode, key and text of each."""

    model_config = ConfigDict(extra="forbid")
    changes: list[dict[str, str]] = Field(min_length=1, max_length=5000)


class Scale(BaseModel):
    """The length of a pixel of an image."""

    model_config = ConfigDict(extra="forbid")
    file: str
    scale: str = Field(min_length=1, max_length=40)


@router.get("/made/image")
def image(request: Request, file: str) -> dict[str, Any]:
    """Outlines and particles of a micrograph in pixels of the original, and what was decided about it."""
    desk: Desk = request.app.state.desk
    study = desk.study()
    shown = _exhibit(desk, file)
    data = shown.data
    outline, first = np.asarray(data["outline"], float), np.asarray(data["first"], int)
    outlines = [np.round(outline[a:b], 1).tolist() for a, b in itertools.pairwise(first)]
    nm = float(data["nm_per_pixel"])
    particles = [
        {"x": float(x), "y": float(y), "diameter": float(d), "cut": bool(c), "outline": line}
        for x, y, d, c, line in zip(
            data["x"], data["y"], data["diameter"], data["cut"], outlines, strict=True
        )
    ]
    decided = []
    for one in study.decisions(file):
        words = one.model_dump(mode="json")
        decided.append(
            {
                k: words[k]
                for k in ("kind", "x", "y", "diameter", "polygon", "points", "why")
                if words.get(k) is not None
            }
        )
    return {
        "mark": "".join(mark_of(study, run) for run in study.runs if run.file == file),
        "width": int(data["columns"]), "height": int(data["rows"]), "bar": int(data["bar_rows"]), "nm": nm,
        "particles": particles, "decided": decided, "warnings": [*data["warnings"], *data["notes"]], "analysed": desk.analysed,
    }  # fmt: skip


@router.get("/made/picture")
def picture(request: Request, file: str) -> Response:
    """The picture under the outlines, as PNG."""
    from PIL import Image

    desk: Desk = request.app.state.desk
    out = io.BytesIO()
    Image.fromarray(np.asarray(_exhibit(desk, file).data["pixels"], np.uint8)).save(out, format="PNG")
    return Response(out.getvalue(), media_type="image/png", headers={"cache-control": "private, max-age=600"})


@router.post("/made/scale")
def scale(request: Request, asked: Scale) -> dict[str, str]:
    """Write the length of a pixel into runs.csv; answers when it is on disk."""
    from halfcell.study.edit_runs import RunsEdit
    from halfcell.units import parse

    desk: Desk = request.app.state.desk
    parse(asked.scale, "m", example="1.5 nm")
    with desk.edit() as folder:
        edit = RunsEdit(folder)
        rows = [n for n, cells in edit.rows.items() if cells.get("file") == asked.file]
        if not rows:
            raise StudyError(f"runs.csv has no row for {asked.file!r}.")
        for row in rows:
            edit.set(row, "scale", asked.scale)
        edit.save()
    return {"edition": desk.edition()}


@router.post("/made/electrodes")
def electrodes(request: Request, asked: Cells) -> dict[str, str]:
    """Write cells of the grid into study.toml, comments kept; all of them or none."""
    from halfcell.study.edit import StudyEdit

    desk: Desk = request.app.state.desk
    with desk.edit() as folder:
        edit = StudyEdit(folder)
        known = desk.study().file.electrodes
        clashes = []
        for change in asked.changes:
            name, key = change.get("electrode", ""), change.get("key", "")
            if name not in known:
                raise StudyError(f"There is no electrode {name!r} in study.toml (any more).")
            now = cells_of(known[name], known[name].factors).get(key, "")
            text = change.get("value", "").strip()
            if now not in (change.get("was", now), text):
                what = f"{key.removeprefix('factor:')} of {name}"
                clashes.append(Clash(at=f"{name}\t{key}", what=what, yours=text, now=now))
            if text != now:
                _set(edit, name, key, text)
        if clashes:
            raise clash_error(clashes)
        edit.save()
    return {"edition": desk.edition()}


def _set(edit: Any, name: str, key: str, text: str) -> None:
    part, _, factor = key.partition(":")
    where = ("electrodes", name, "factors", factor) if part == "factor" else ("electrodes", name, key)
    if part == "factor":
        if text.lower() not in {"yes", "no", ""}:
            raise StudyError(f"{name}, {factor}: {text!r} is neither yes nor no.")
    elif key not in {"material", "role", "recipe", "batch", "area"}:
        raise StudyError(f"{key!r} is not a column of the grid.")
    if not text:
        if edit.get(where) is not None:
            edit.remove(where)
        return
    edit.set(where, text.lower() == "yes" if part == "factor" else text)


def _exhibit(desk: Desk, file: str) -> Exhibit:
    shown = (
        [e for e in desk.analysis.exhibits if e.kind == "micrograph" and e.recordings == (file,)]
        if desk.analysis
        else []
    )
    if not shown:
        raise StudyError(f"There is no micrograph {file!r} in the newest analysis.")
    return shown[0]
