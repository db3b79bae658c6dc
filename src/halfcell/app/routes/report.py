"""The report: choose its parts, see it, save it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any, Literal

from fastapi import APIRouter, Query, Request
from fastapi.responses import FileResponse, HTMLResponse, Response
from pydantic import BaseModel, ConfigDict, Field

from halfcell.app.guard import DRAWN
from halfcell.app.pages import PLACES, page
from halfcell.errors import StudyError

if TYPE_CHECKING:
    from halfcell.app.desk import Desk
    from halfcell.pipeline import Analysis

router = APIRouter()

FILES = {
    "report.html": "text/html; charset=utf-8",
    "report.pdf": "application/pdf",
    "findings.xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    "findings.csv": "text/csv; charset=utf-8",
    "findings.json": "application/json",
    "methods.txt": "text/plain; charset=utf-8",
}


class Save(BaseModel):
    """Which parts to write."""

    model_config = ConfigDict(extra="forbid")
    parts: list[str]


class Figures(BaseModel):
    """Every figure as a file: its form, width in mm and dots an inch."""

    model_config = ConfigDict(extra="forbid")
    form: Literal["svg", "pdf", "png"]
    width: float = Field(160, ge=20, le=500)
    dpi: float = Field(300, ge=50, le=1200)


@router.get("/report")
def report(request: Request) -> Response:
    """The page of the report."""
    from halfcell.report.content import part_names
    from halfcell.report.methods_text import methods_text

    desk: Desk = request.app.state.desk
    here = next(p for p in PLACES if p.name == "Report")
    words = methods_text(desk.analysis) if desk.analysis else ""
    return page(request, "report.html", place="Report", here=here, names=part_names(), methods=words)


@router.get("/report/page")
def shown(request: Request, part: Annotated[list[str] | None, Query()] = None) -> Response:
    """The report as it would be saved, with the parts asked for."""
    from halfcell.report.html import html_report

    try:
        made = html_report(_analysis(request), parts=part or None)
    except ValueError as error:
        raise StudyError(str(error)) from None
    return HTMLResponse(made.html, headers={"content-security-policy": DRAWN})


@router.post("/report/save")
def save(request: Request, asked: Save) -> dict[str, Any]:
    """Write the report's files into the study folder; answers when they are there."""
    from halfcell.report.bundle import write_report

    try:
        written = write_report(_analysis(request), parts=asked.parts or None)
    except ValueError as error:
        raise StudyError(str(error)) from None
    return {
        "folder": str(written.folder),
        "files": [path.name for path in written.files],
        "problems": [str(p) for p in written.problems],
    }


@router.post("/report/figures")
def figures(request: Request, asked: Figures) -> dict[str, Any]:
    """Write every figure into the report's folder; answers when they are there."""
    from halfcell.report.figure_set import save_figures

    found = save_figures(_analysis(request), format=asked.form, width=asked.width * 1e-3, dpi=asked.dpi)
    folder = str(found.files[0].parent) if found.files else ""
    return {"folder": folder, "count": len(found.files), "problems": [str(p) for p in found.problems]}


@router.get("/report/file/{name}")
def file(request: Request, name: str) -> Response:
    """A file of the saved report, to keep elsewhere."""
    desk: Desk = request.app.state.desk
    path = desk.folder / "report" / name if desk.folder and name in FILES else None
    if path is None or path.parent.is_symlink() or path.is_symlink() or not path.is_file():
        raise StudyError("There is no such file; save the report first.")
    return FileResponse(path, media_type=FILES[name], filename=name)


def _analysis(request: Request) -> Analysis:
    desk: Desk = request.app.state.desk
    return desk.current()
