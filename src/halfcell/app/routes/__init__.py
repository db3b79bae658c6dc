"""One file a place: what the screen of that question asks of the server."""

from __future__ import annotations

from halfcell.app.routes import (
    add,
    chooses,
    decide,
    home,
    made,
    names,
    places,
    quantifies,
    reading,
    record,
    report,
    responds,
    start,
    why,
)

ROUTERS = tuple(
    part.router
    for part in (
        add,
        chooses,
        decide,
        home,
        made,
        names,
        places,
        quantifies,
        reading,
        record,
        report,
        responds,
        start,
        why,
    )
)
