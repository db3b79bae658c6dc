"""Wires the app: routes, static files, the guard. Nothing is decided here."""

from __future__ import annotations

import asyncio
import traceback
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import asdict
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import FileResponse, JSONResponse, Response
from fastapi.staticfiles import StaticFiles
from starlette.exceptions import HTTPException

from halfcell.app.charts import script
from halfcell.app.clash import ClashError
from halfcell.app.desk import Desk
from halfcell.app.guard import Guard
from halfcell.app.live import live
from halfcell.app.pages import said
from halfcell.app.routes import ROUTERS
from halfcell.errors import HalfcellError
from halfcell.study.atomic import way_out
from halfcell.study.merge import MovedOnError

if TYPE_CHECKING:
    from starlette.types import ASGIApp

_PATIENCE = 10.0
"""Seconds that the end of the server waits for the files under way."""
STATIC = Path(str(files("halfcell.app") / "static"))


def create_app(
    folder: Path | None, *, hosts: frozenset[str], token: str, cores: int | None = None
) -> ASGIApp:
    """The app behind its guard. ``folder`` None begins with the choice of a study."""
    desk = Desk(folder, cores=cores)
    app = FastAPI(
        title="halfcell", docs_url=None, redoc_url=None, openapi_url=None, lifespan=lambda _: _ending(desk)
    )
    app.state.desk = desk
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    app.add_api_route("/charts.js", _charts, methods=["GET"])
    app.add_api_websocket_route("/live", live)
    for router in ROUTERS:
        app.include_router(router)
    app.add_exception_handler(HalfcellError, _in_words)
    app.add_exception_handler(OSError, _disk)
    app.add_exception_handler(RequestValidationError, _misasked)
    app.add_exception_handler(HTTPException, _nothing_here)
    app.add_exception_handler(Exception, _unforeseen)
    if folder is not None:
        desk.refresh()
    return Guard(app, hosts, token)


@asynccontextmanager
async def _ending(desk: Desk) -> AsyncIterator[None]:
    """When the server ends, the work under way ends with it instead of going on to its last file."""
    yield
    desk.background.stop()
    await asyncio.to_thread(desk.background.wait, _PATIENCE)


def _charts() -> FileResponse:
    return FileResponse(
        script(), media_type="text/javascript", headers={"cache-control": "private, max-age=86400"}
    )


def _wants_page(request: Request) -> bool:
    return request.method == "GET" and "text/html" in request.headers.get("accept", "")


async def _in_words(request: Request, error: Any) -> Response:
    details = [str(problem) for problem in error.problems]
    if _wants_page(request):
        return said(request, str(error), details, status=400)
    told: dict[str, Any] = {"problem": str(error), "details": details}
    if isinstance(error, ClashError):
        told["clashes"] = [asdict(clash) for clash in error.clashes]
    if isinstance(error, MovedOnError):
        told["moved_on"] = True
    return JSONResponse(told, status_code=409 if len(told) > 2 else 400)


async def _disk(request: Request, error: Any) -> Response:
    """What the disk refused: told with the way out; the fault is in the terminal too."""
    traceback.print_exception(error)
    name = Path(str(error.filename)).name if error.filename else "a file"
    text = f"{name} cannot be read or written ({error.strerror or type(error).__name__}). {way_out(error)}"
    if _wants_page(request):
        return said(request, text, [], status=500)
    return JSONResponse({"problem": text, "details": []}, status_code=500)


async def _misasked(request: Request, error: Any) -> Response:
    found = [f"{'.'.join(str(p) for p in e['loc'][1:])}: {e['msg']}" for e in error.errors()[:8]]
    text = "The page asked for something that cannot be understood; load it again."
    if _wants_page(request):
        return said(request, text, found, status=400)
    return JSONResponse({"problem": text, "details": [text, *found]}, status_code=400)


async def _nothing_here(request: Request, error: Any) -> Response:
    known = {
        "Not Found": "There is nothing at this address.",
        "Method Not Allowed": "That cannot be asked here.",
    }
    text = known.get(error.detail, str(error.detail))
    if _wants_page(request):
        return said(request, text, [], status=error.status_code)
    return JSONResponse({"problem": text, "details": []}, status_code=error.status_code)


async def _unforeseen(request: Request, error: Any) -> Response:
    # In the terminal the server was started from, for a report of the fault.
    traceback.print_exception(error)
    text = f"Something failed in a way that was not foreseen ({type(error).__name__}). What was saved is on disk."
    if _wants_page(request):
        return said(request, text, [], status=500)
    return JSONResponse({"problem": text, "details": []}, status_code=500)
