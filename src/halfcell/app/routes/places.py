"""The places: each the part of the report that answers its question, with every number's thread."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import Response

from halfcell.app.guard import DRAWN
from halfcell.app.pages import PLACES, page
from halfcell.app.routes.editors import editors, electrode_cells
from halfcell.app.routes.home import asked
from halfcell.app.threads import Threads
from halfcell.app.whatif import sliders
from halfcell.errors import StudyError

if TYPE_CHECKING:
    from halfcell.app.desk import Desk
    from halfcell.pipeline import Analysis
    from halfcell.report.blocks import Part

router = APIRouter()

ALSO = {"chooses": ("chooses", "compares")}
"""Parts of the report that one place shows together."""


@router.get("/made")
@router.get("/responds")
@router.get("/quantifies")
@router.get("/confounds")
@router.get("/chooses")
def place(request: Request) -> Response:
    """The page of a place."""
    desk: Desk = request.app.state.desk
    name = request.url.path.strip("/")
    here = next(p for p in PLACES if p.path == f"/{name}")
    if desk.problems() and desk.analysis is None:
        return asked(request, desk.problems())
    parts = parts_of(desk.analysis, name) if desk.analysis else ()
    found = [f for f in desk.analysis.findings if place_name(f.name) == here.name] if desk.analysis else []
    tools = editors(desk.analysis, name) if desk.analysis else {}
    if not desk.problems():
        # As it stands in the folder now, which may be newer than the analysis.
        if "weigh-wants" in tools:
            tools["weigh-wants"] |= sliders(desk.study())
        if "electrode-grid" in tools:
            tools["electrode-grid"] = electrode_cells(desk.study())
    return page(
        request, "place.html", place=here.name, here=here, parts=parts, found=found, tools=tools,
        threads=Threads.of(desk.analysis),
    )  # fmt: skip


def parts_of(analysis: Analysis, name: str) -> tuple[Part, ...]:
    """The parts of the report shown in a place."""
    from halfcell.report.content import content, part_names

    wanted = [part for part in ALSO.get(name, (name,)) if part in part_names()]
    return content(analysis, wanted).parts


def place_name(finding: str) -> str:
    """The place a finding belongs to."""
    from halfcell.vocabulary import TERMS

    term = TERMS.get(finding)
    return term.place if term else ""


@router.get("/figure")
def figure(request: Request, key: str, form: str = "svg", width: float = 160.0, dpi: int = 300) -> Response:
    """A figure of an exhibit: SVG for the page, or to save as SVG, PDF or PNG at a width in mm."""
    from halfcell.app.figures import FORMS, drawn

    desk: Desk = request.app.state.desk
    exhibit = next((e for e in desk.analysis.exhibits if e.key == key), None) if desk.analysis else None
    if exhibit is None or desk.analysis is None:
        raise StudyError(f"There is no figure {key!r} in the newest analysis.")
    if form not in FORMS or not 20 <= width <= 500 or not 50 <= dpi <= 1200:
        raise StudyError(
            "A figure can be had as svg, pdf or png, 20 to 500 mm wide, with 50 to 1200 dots an inch."
        )
    media, ending = FORMS[form]
    name = "".join(c if c.isalnum() else "-" for c in exhibit.title)[:80].strip("-") or "figure"
    headers: dict[str, str] = {}
    if request.query_params.get("save"):
        headers["content-disposition"] = (
            f'attachment; filename="{name.encode("ascii", "ignore").decode() or "figure"}{ending}"'
        )
    if form == "svg":
        headers["content-security-policy"] = DRAWN
    data = drawn(desk.analysis, exhibit, form, width, dpi)
    return Response(data, media_type=media, headers=headers)
