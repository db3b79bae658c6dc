"""One file a place: what the screen of that question asks of the server."""

from __future__ import annotations

from halfcell.app.routes import home, places, record, why

ROUTERS = (home.router, places.router, record.router, why.router)
