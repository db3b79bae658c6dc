"""Pages from templates; everything from a study is escaped."""

from __future__ import annotations

import html
import shlex
import sys
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

import jinja2
from fastapi.responses import HTMLResponse

from halfcell import __version__
from halfcell.app.charts import style_ids
from halfcell.report.tables import label
from halfcell.units import number, pretty, with_uncertainty

if TYPE_CHECKING:
    from fastapi import Request

    from halfcell.app.desk import Desk


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """One place of the app: its name is the question's verb."""

    name: str
    path: str
    question: str


PLACES = (
    Place(name="Made", path="/made", question="What was made, and what is on the surface?"),
    Place(
        name="Responds", path="/responds", question="Does it respond, and how well is the response defined?"
    ),
    Place(name="Quantifies", path="/quantifies", question="How well does it measure an amount?"),
    Place(name="Confounds", path="/confounds", question="What would it mistake for the analyte?"),
    Place(name="Chooses", path="/chooses", question="Which one goes forward, and how sure is that?"),
    Place(name="Report", path="/report", question="What goes on paper?"),
)


@cache
def environment() -> jinja2.Environment:
    """The templates, with escaping always on."""
    made = jinja2.Environment(
        loader=jinja2.PackageLoader("halfcell.app", "templates"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters |= {"unit": pretty, "number": number, "label": label}
    made.globals |= {"with_uncertainty": with_uncertainty, "version": __version__, "places": PLACES}
    made.globals["chart_styles"] = style_ids
    return made


def page(
    request: Request, template: str, *, place: str = "", status: int = 200, **values: Any
) -> HTMLResponse:
    """A page of a study, or of none."""
    desk: Desk = request.app.state.desk
    title = ""
    if desk.folder is not None:
        problems = desk.problems()
        title = (
            desk.folder.name if problems and _broken(desk) else (desk.study().file.title or desk.folder.name)
        )
    text = (
        environment()
        .get_template(template)
        .render(
            place=place,
            study_title=title,
            folder=str(desk.folder or ""),
            again=_again(request, str(desk.folder or "")),
            edition=desk.edition(),
            analysed=desk.analysed,
            analysis=desk.analysis,
            **values,
        )
    )
    return HTMLResponse(text, status_code=status)


def said(request: Request, text: str, details: list[str], *, status: int) -> HTMLResponse:
    """A page that says what went wrong and the way out."""
    try:
        return page(request, "said.html", status=status, text=text, details=details)
    except Exception:  # noqa: BLE001 - the page that tells of a failure must not fail
        return HTMLResponse(
            f"<!doctype html><title>halfcell</title><p>{html.escape(text)}</p>", status_code=status
        )


def _again(request: Request, folder: str) -> str:
    """The command that starts this server again, so that this page finds it."""
    name = f'"{folder}"' if sys.platform == "win32" else shlex.quote(folder)
    port = f"--port {request.url.port}" if request.url.port else ""
    return " ".join(part for part in ("halfcell serve", name if folder else "", port) if part)


def _broken(desk: Desk) -> bool:
    from halfcell.errors import StudyError

    try:
        desk.study()
    except StudyError:
        return True
    return False
