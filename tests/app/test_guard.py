"""The door: what another page, another name, or too much data gets."""

from __future__ import annotations

import http.client
import socket
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass

import pytest
import uvicorn
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import PlainTextResponse
from starlette.routing import Route, WebSocketRoute
from starlette.websockets import WebSocket

from halfcell.app.guard import Guard


@dataclass(frozen=True)
class Answer:
    status: int
    headers: dict[str, str]


def answer_of(connection: http.client.HTTPConnection) -> Answer:
    response = connection.getresponse()
    headers = {name.lower(): value for name, value in response.getheaders()}
    response.read()
    connection.close()
    return Answer(response.status, headers)


@dataclass(frozen=True)
class Served:
    port: int
    token: str = "the-key-of-this-start"

    @property
    def host(self) -> str:
        return f"127.0.0.1:{self.port}"

    def ask(self, method: str = "GET", path: str = "/", body: bytes | None = None, **headers: str) -> Answer:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=10)
        named = {k.replace("_", "-"): v for k, v in headers.items()}
        connection.request(method, path, body=body, headers=named)
        return answer_of(connection)

    @property
    def cookie(self) -> str:
        return f"halfcell-{self.port}={self.token}"


async def _echo(request: Request) -> PlainTextResponse:
    return PlainTextResponse(str(len(await request.body())))


async def _socket(socket_: WebSocket) -> None:
    await socket_.accept()
    await socket_.send_text("in")
    await socket_.close()


@pytest.fixture(scope="module")
def served() -> Iterator[Served]:
    listening = socket.socket()
    listening.bind(("127.0.0.1", 0))
    port = listening.getsockname()[1]
    inner = Starlette(routes=[Route("/", _echo, methods=["GET", "POST"]), WebSocketRoute("/live", _socket)])
    guard = Guard(inner, frozenset({f"127.0.0.1:{port}"}), Served(0).token, largest=1000)
    server = uvicorn.Server(uvicorn.Config(guard, log_level="error"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    yield Served(port)
    server.should_exit = True
    thread.join(5)
    listening.close()


def test_without_the_key_nothing_is_shown(served: Served) -> None:
    assert served.ask().status == 403
    assert served.ask(cookie=f"halfcell-{served.port}=guess").status == 403
    assert served.ask(cookie=f"halfcell={served.token}").status == 403


def test_the_key_is_exchanged_for_a_strict_cookie_once(served: Served) -> None:
    answer = served.ask(path=f"/?key={served.token}")
    assert answer.status == 303
    assert "SameSite=Strict" in answer.headers["set-cookie"]
    assert "HttpOnly" in answer.headers["set-cookie"]
    assert served.token not in answer.headers["location"]


def test_the_key_never_sends_the_browser_elsewhere(served: Served) -> None:
    answer = served.ask(path=f"//elsewhere.example/?key={served.token}")
    assert answer.status == 303
    assert answer.headers["location"].startswith("/elsewhere")


def test_a_rebound_name_is_refused_even_with_the_cookie(served: Served) -> None:
    connection = http.client.HTTPConnection("127.0.0.1", served.port, timeout=10)
    connection.putrequest("GET", "/", skip_host=True)
    connection.putheader("Host", f"rebound.example:{served.port}")
    connection.putheader("Cookie", served.cookie)
    connection.endheaders()
    assert answer_of(connection).status == 403


def test_another_origin_is_refused_and_a_change_needs_one(served: Served) -> None:
    assert (
        served.ask("POST", body=b"x", cookie=served.cookie, origin="http://elsewhere.example").status == 403
    )
    assert served.ask("POST", body=b"x", cookie=served.cookie, origin="null").status == 403
    assert served.ask("POST", body=b"x", cookie=served.cookie).status == 403
    assert served.ask("POST", body=b"x", cookie=served.cookie, origin=f"http://{served.host}").status == 200


def test_a_body_over_the_limit_is_refused_by_length_and_by_count(served: Served) -> None:
    origin = f"http://{served.host}"
    assert served.ask("POST", body=b"x" * 1001, cookie=served.cookie, origin=origin).status == 413
    connection = http.client.HTTPConnection("127.0.0.1", served.port, timeout=10)
    connection.putrequest("POST", "/")
    for name, value in (("Cookie", served.cookie), ("Origin", origin), ("Transfer-Encoding", "chunked")):
        connection.putheader(name, value)
    connection.endheaders()
    for _ in range(3):
        connection.send(b"1f4\r\n" + b"x" * 500 + b"\r\n")
    connection.send(b"0\r\n\r\n")
    assert answer_of(connection).status == 413


def test_the_browser_is_told_to_fetch_and_run_nothing_from_elsewhere(served: Served) -> None:
    answer = served.ask(cookie=served.cookie)
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["cache-control"] == "no-store"


@pytest.mark.parametrize(
    ("origin", "cookie", "status"),
    [("http://elsewhere.example", True, 403), (None, True, 403), ("own", False, 403), ("own", True, 101)],
)
def test_a_socket_from_elsewhere_is_refused(
    served: Served, origin: str | None, cookie: bool, status: int
) -> None:
    lines = [
        "GET /live HTTP/1.1",
        f"Host: {served.host}",
        "Upgrade: websocket",
        "Connection: Upgrade",
        "Sec-WebSocket-Version: 13",
    ]
    lines.append("Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==")
    if origin is not None:
        lines.append(f"Origin: {f'http://{served.host}' if origin == 'own' else origin}")
    if cookie:
        lines.append(f"Cookie: {served.cookie}")
    with socket.create_connection(("127.0.0.1", served.port), timeout=10) as link:
        link.sendall("\r\n".join([*lines, "", ""]).encode())
        assert link.recv(200).split()[1] == str(status).encode()
