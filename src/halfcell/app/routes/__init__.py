"""One file a place: what the screen of that question asks of the server."""

from __future__ import annotations

from halfcell.app.routes import home, record, why

ROUTERS = (home.router, record.router, why.router)
