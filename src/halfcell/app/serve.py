"""Start the server: a socket on this machine, a secret for this start, the app behind its guard."""

from __future__ import annotations

import ipaddress
import secrets
import socket
import sys
from collections.abc import Callable
from pathlib import Path

from halfcell.errors import HalfcellError


def serve(
    folder: Path | None,
    *,
    address: str = "127.0.0.1",
    port: int = 0,
    reachable: bool = False,
    browser: bool = True,
    tell: Callable[[str], None],
) -> None:
    """Serve a study until stopped; ``tell`` is given the address. Raises HalfcellError for a folder or address that cannot be served."""
    import uvicorn

    from halfcell.app.main import create_app
    from halfcell.app.memory import settle

    if folder is not None and not folder.is_dir():
        raise HalfcellError(
            f"{folder} is not a folder. Give a study folder, or none to choose one in the browser."
        )
    if not _loopback(address) and not reachable:
        raise HalfcellError(
            f"{address} can be reached from other machines. If that is meant, add --anyone-with-the-key; else leave --address out."
        )
    settle()
    listening = _listen(address, port)
    port = listening.getsockname()[1]
    token = secrets.token_urlsafe(24)
    app = create_app(folder.resolve() if folder else None, hosts=hosts(address, port), token=token)
    shown = f"http://{_bracketed(address)}:{port}/?key={token}"
    tell(shown)
    if browser and sys.stdout.isatty():
        import webbrowser

        webbrowser.open(shown)
    server = uvicorn.Server(
        uvicorn.Config(
            app,
            log_level="error",
            ws_max_size=65536,
            timeout_graceful_shutdown=2,
            server_header=False,
            date_header=False,
        )
    )
    server.run(sockets=[listening])


def hosts(address: str, port: int) -> frozenset[str]:
    """The Host headers the server answers to."""
    names = {"127.0.0.1", "localhost", "[::1]"} if _loopback(address) else {_bracketed(address)}
    return frozenset(f"{name}:{port}" for name in names) | (frozenset(names) if port == 80 else frozenset())


def _loopback(address: str) -> bool:
    if address == "localhost":
        return True
    try:
        return ipaddress.ip_address(address).is_loopback
    except ValueError:
        return False


def _bracketed(address: str) -> str:
    return f"[{address}]" if ":" in address else address


def _listen(address: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in address else socket.AF_INET
    # With the protocol named, asyncio sends small answers at once; without, each waits up to 40 ms.
    listening = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    if sys.platform != "win32":
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((address, port))
    except OSError as error:
        listening.close()
        raise HalfcellError(
            f"{address}:{port} cannot be used ({error.strerror}). Another --port may be free; 0 takes any."
        ) from None
    listening.listen(128)
    return listening
