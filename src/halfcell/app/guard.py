"""The door of the local server: who may ask, how much they may send, what the browser may do.

Pure ASGI, for requests and sockets alike. A page elsewhere cannot read or drive the server:
the Host must be one this server was started under (so a rebound name is refused), the Origin of
anything that changes something must be ours, and every request carries a cookie that was given
in exchange for the token printed at the start.
"""

from __future__ import annotations

import hmac
from collections.abc import Awaitable, Callable, MutableMapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import parse_qsl, urlencode

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

_SAFE = {"GET", "HEAD"}
_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src 'self'; "
    "connect-src 'self'; form-action 'self'; frame-src 'self'; base-uri 'none'; frame-ancestors 'self'"
)
DRAWN = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'self'"
"""For what halfcell drew itself (a figure, the report): it carries its own styles and nothing that runs."""
_HEADERS = (
    (b"content-security-policy", _POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), microphone=(), geolocation=()"),
)


@dataclass(frozen=True, slots=True)
class Guard:
    """Wraps an app. ``hosts`` are the allowed Host headers ("127.0.0.1:8765"), ``token`` the secret
    of this start, ``largest`` the most bytes a body may have."""

    app: App
    hosts: frozenset[str]
    token: str
    largest: int = 512 * 1024 * 1024

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or answer it here."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        refusal = self._refusal(scope)
        if scope["type"] == "websocket":
            if refusal or not self._known(scope):
                await receive()
                await send({"type": "websocket.close", "code": 4403, "reason": refusal or "not signed in"})
                return
            await self.app(scope, receive, send)
            return
        if refusal:
            await _answer(send, 403, refusal)
        elif self._brings_token(scope):
            await self._welcome(scope, send)
        elif not self._known(scope):
            await _answer(
                send,
                403,
                "Open the address that halfcell printed when it was started: it carries the key to this page.",
            )
        else:
            await self._pass(scope, receive, send)

    def _refusal(self, scope: Scope) -> str:
        hosts = _values(scope, b"host")
        if len(hosts) != 1 or hosts[0] not in self.hosts:
            return "This server answers only under the address it was started with."
        origins = _values(scope, b"origin")
        changes = scope["type"] == "websocket" or scope.get("method") not in _SAFE
        if not origins and changes:
            return "A request that changes something must say where it comes from (Origin)."
        if origins and (len(origins) != 1 or origins[0] not in {f"http://{host}" for host in self.hosts}):
            return "Requests from another page are refused."
        return ""

    def _known(self, scope: Scope) -> bool:
        wanted = _cookie(scope)
        for line in _values(scope, b"cookie"):
            for pair in line.split(";"):
                name, _, value = pair.strip().partition("=")
                if name == wanted and hmac.compare_digest(value.encode(), self.token.encode()):
                    return True
        return False

    def _brings_token(self, scope: Scope) -> bool:
        given = dict(parse_qsl(scope.get("query_string", b"").decode("latin-1"))).get("key", "")
        return scope.get("method") == "GET" and hmac.compare_digest(given.encode(), self.token.encode())

    async def _welcome(self, scope: Scope, send: Send) -> None:
        rest = [(k, v) for k, v in parse_qsl(scope.get("query_string", b"").decode("latin-1")) if k != "key"]
        # Only ever back to this server: a path that begins with two slashes would name another.
        path = "/" + scope["path"].lstrip("/") + (f"?{urlencode(rest)}" if rest else "")
        cookie = f"{_cookie(scope)}={self.token}; Path=/; HttpOnly; SameSite=Strict"
        headers = [
            (b"location", path.encode("ascii", "ignore")),
            (b"set-cookie", cookie.encode()),
            (b"content-length", b"0"),
        ]
        await send({"type": "http.response.start", "status": 303, "headers": [*headers, *_HEADERS]})
        await send({"type": "http.response.body", "body": b""})

    async def _pass(self, scope: Scope, receive: Receive, send: Send) -> None:
        taken, begun, refused = 0, False, False

        async def counted() -> Message:
            nonlocal taken, refused
            message = await receive()
            taken += len(message.get("body", b""))
            if taken <= self.largest or refused:
                return message
            refused = True
            if not begun:
                await _answer(send, 413, self._too_much())
            return {"type": "http.disconnect"}

        async def sealed(message: Message) -> None:
            nonlocal begun
            if refused:
                return
            if message["type"] == "http.response.start":
                begun = True
                headers = dict(_HEADERS)
                if (b"content-security-policy", DRAWN.encode()) in message.get("headers", []):
                    headers[b"content-security-policy"] = DRAWN.encode()
                own = set(headers)
                kept = [(k, v) for k, v in message.get("headers", []) if k.lower() not in own]
                stated = any(k.lower() == b"cache-control" for k, _ in kept)
                cache = [] if stated else [(b"cache-control", b"no-store")]
                message = {**message, "headers": [*kept, *cache, *headers.items()]}
            await send(message)

        length = next(iter(_values(scope, b"content-length")), "0")
        if not length.isdigit() or int(length) > self.largest:
            await _answer(send, 413, self._too_much())
            return
        try:
            await self.app(scope, counted, sealed)
        except Exception:
            # The app was cut off in the middle of a body; the answer has been given.
            if not refused:
                raise

    def _too_much(self) -> str:
        return f"That is more than {self.largest // 1_048_576} MB, the most that is taken at once. Send fewer files, or copy them into the folder."


def _cookie(scope: Scope) -> str:
    """Name of the cookie: browsers keep cookies by host without the port, and several servers may run."""
    _, _, port = _values(scope, b"host")[0].rpartition(":")
    return f"halfcell-{port if port.isdigit() else 80}"


def _values(scope: Scope, name: bytes) -> list[str]:
    return [value.decode("latin-1") for key, value in scope.get("headers", []) if key.lower() == name]


async def _answer(send: Send, status: int, text: str) -> None:
    body = text.encode()
    headers = [
        (b"content-type", b"text/plain; charset=utf-8"),
        (b"content-length", str(len(body)).encode()),
        (b"cache-control", b"no-store"),
    ]
    await send({"type": "http.response.start", "status": status, "headers": [*headers, *_HEADERS]})
    await send({"type": "http.response.body", "body": body})
