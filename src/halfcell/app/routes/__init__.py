"""One file a place: what the screen of that question asks of the server."""

from __future__ import annotations

from halfcell.app.routes import chooses, decide, home, places, record, report, why

ROUTERS = (
    chooses.router,
    decide.router,
    home.router,
    places.router,
    record.router,
    report.router,
    why.router,
)
