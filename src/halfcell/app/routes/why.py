"""Where a number came from."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import Response

from halfcell.app.marks import marks
from halfcell.app.pages import page
from halfcell.errors import StudyError

if TYPE_CHECKING:
    from halfcell.app.desk import Desk

router = APIRouter()


@router.get("/why")
def why(request: Request, key: str) -> Response:
    """The thread of one finding: value, method, formula, source, settings, files."""
    from halfcell.pipeline.methods import METHODS
    from halfcell.vocabulary import TERMS

    desk: Desk = request.app.state.desk
    if desk.analysis is None:
        raise StudyError("The analysis is not finished yet; the number will be there when it is.")
    finding = next((f for f in desk.analysis.findings if f.key == key), None)
    if finding is None:
        raise StudyError(f"There is no finding {key!r} in the newest analysis.")
    numbers = {run.file: i for i, run in enumerate(desk.analysis.study.runs)}
    decided = [a for a in desk.analysis.study.adjustments if getattr(a, "file", "") in finding.recordings]
    return page(
        request, "why.html", finding=finding, term=TERMS.get(finding.name), method=METHODS.get(finding.method),
        files=[(f, desk.analysis.files.get(f, ""), numbers.get(f), marks(desk.analysis, finding, f)) for f in finding.recordings], decided=decided,
    )  # fmt: skip
