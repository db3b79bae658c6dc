"""The home of a study: electrodes down, kinds of record across."""

from __future__ import annotations

import contextlib
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from halfcell.app.asking import chapters
from halfcell.app.pages import page
from halfcell.app.traces import mark_of
from halfcell.errors import HalfcellError, Problem

if TYPE_CHECKING:
    from collections.abc import Sequence

    from halfcell.app.desk import Desk
    from halfcell.pipeline import Analysis
    from halfcell.study.study import Study

router = APIRouter()

KINDS = (
    "micrograph",
    "deposition",
    "cyclic voltammogram",
    "linear sweep",
    "differential pulse",
    "square wave",
    "potential step",
    "additions",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """Records of one kind on one electrode."""

    runs: tuple[tuple[int, str], ...] = ()
    """(number of the run, its file)."""
    mark: str = ""
    """Of the first run's picture: browsers keep a picture by its address."""
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One electrode."""

    electrode: str
    group: str
    role: str
    area: str
    cells: tuple[Cell, ...] = field(default_factory=tuple)


@router.get("/")
def home(request: Request) -> Response:
    """The grid, or the choice of a study, or what is wrong with the folder."""
    desk: Desk = request.app.state.desk
    if desk.folder is None:
        return RedirectResponse("/start", status_code=303)
    try:
        study = desk.study()
    except HalfcellError as error:
        return asked(request, error.problems)
    kinds = [kind for kind in KINDS if any(run.technique == kind for run in study.runs)]
    return page(
        request, "home.html", kinds=kinds, rows=rows(study, desk.analysis, kinds), problems=_problems(desk)
    )


@router.get("/questions")
def questions(request: Request) -> Response:
    """What is missing or wrong in the folder, by what to do about it."""
    desk: Desk = request.app.state.desk
    if desk.folder is None:
        return RedirectResponse("/start", status_code=303)
    return asked(request, desk.problems())


def asked(request: Request, problems: Sequence[Problem]) -> Response:
    """The page of questions."""
    from halfcell.study.edit_runs import RunsEdit

    desk: Desk = request.app.state.desk
    named: dict[int, str] = {}
    with contextlib.suppress(HalfcellError):
        named = {n: cells.get("file", "") for n, cells in RunsEdit(str(desk.folder)).rows.items()}
    return page(request, "mistakes.html", place="Questions", chapters=chapters(problems, named))


def rows(study: Study, analysis: Analysis | None, kinds: list[str]) -> list[Row]:
    """The grid's rows, in the order of the study file."""
    doubts: dict[str, list[str]] = {}
    for problem in analysis.problems if analysis else ():
        doubts.setdefault(problem.file, []).append(problem.what)
    cells: dict[tuple[str, str], list[tuple[int, str]]] = {}
    for i, run in enumerate(study.runs):
        cells.setdefault((run.electrode, run.technique), []).append((i, run.file))
    out = []
    for name, made in study.file.electrodes.items():
        row = []
        for kind in kinds:
            runs = tuple(cells.get((name, kind), ()))
            found = tuple(text for _, file in runs for text in doubts.get(file, ()))
            mark = mark_of(study, study.runs[runs[0][0]]) if runs else ""
            row.append(Cell(runs=runs, doubts=found, mark=mark))
        out.append(
            Row(
                electrode=name,
                group=study.group(name),
                role=made.role,
                area=f"{made.area * 1e4:.4g} cm²",
                cells=tuple(row),
            )
        )
    return out


def _problems(desk: Desk) -> list[Any]:
    analysed = desk.analysis.problems if desk.analysis else ()
    return [*desk.problems(), *analysed]


@router.post("/stop")
def stop(request: Request) -> dict[str, bool]:
    """End the analysis under way; what it finished is kept."""
    request.app.state.desk.background.stop()
    return {"stopped": True}


@router.post("/again")
def again(request: Request) -> dict[str, bool]:
    """Analyse anew after a stop."""
    request.app.state.desk.again()
    return {"started": True}
