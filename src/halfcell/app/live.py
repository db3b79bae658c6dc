"""The socket that keeps pages true: progress of the work, and a folder that changed meanwhile."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING, Any

from starlette.websockets import WebSocket, WebSocketDisconnect

if TYPE_CHECKING:
    from halfcell.app.desk import Desk

_EVERY = 0.25
"""Seconds between looks."""


async def live(socket: WebSocket) -> None:
    """Send the state whenever it changes; the page sends nothing."""
    desk: Desk = socket.app.state.desk
    await socket.accept()
    seen: dict[str, Any] = {}
    listener = asyncio.ensure_future(socket.receive())
    try:
        while not listener.done():
            state = await asyncio.to_thread(state_of, desk)
            if state != seen:
                seen = state
                await socket.send_json(state)
            await asyncio.wait({listener}, timeout=_EVERY)
    except (WebSocketDisconnect, RuntimeError):
        pass
    finally:
        listener.cancel()


def state_of(desk: Desk) -> dict[str, Any]:
    """What a page must know: progress, the folder's edition, the edition that was analysed."""
    desk.refresh()
    progress = desk.background.progress
    return {
        "state": progress.state,
        "step": progress.step,
        "done": progress.done,
        "of": progress.of,
        "problem": progress.problem,
        "edition": desk.edition(),
        "analysed": desk.analysed,
        "problems": len(desk.problems()) if desk.folder else 0,
    }
