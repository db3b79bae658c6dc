"""A real server in its own process and a real browser, for tests of the app."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest


@dataclass(frozen=True)
class Server:
    """A running server: ``url`` carries the key."""

    url: str
    process: subprocess.Popen[str]

    @property
    def base(self) -> str:
        parts = urlsplit(self.url)
        return f"http://{parts.netloc}"

    def end(self) -> None:
        if self.process.poll() is None:
            self.process.terminate()
            try:
                self.process.wait(20)
            except subprocess.TimeoutExpired:
                self.process.kill()
                self.process.wait(10)


@pytest.fixture(scope="session")
def start_server(common_root: Path) -> Iterator[Callable[..., Server]]:
    """Start ``halfcell serve`` on a folder (or none); every server is ended with the tests."""
    servers: list[Server] = []
    cache = common_root / "cache"

    def start(folder: Path | None = None, *more: str, cache: Path = cache) -> Server:
        command = [
            sys.executable,
            "-m",
            "halfcell",
            "serve",
            *([str(folder)] if folder else []),
            "--no-browser",
            *more,
        ]
        environment = os.environ | {"HALFCELL_CACHE": str(cache), "PYTHONUNBUFFERED": "1"}
        process = subprocess.Popen(
            command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, env=environment
        )
        assert process.stdout is not None
        line = process.stdout.readline()
        found = re.search(r"http://\S+", line)
        assert found, f"the server did not say its address: {line + process.stdout.read()}"
        servers.append(Server(found.group(0), process))
        return servers[-1]

    yield start
    for server in servers:
        server.end()
        if server.process.stdout:
            server.process.stdout.close()


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """The distribution's Chromium; a machine without one skips these tests."""
    path = shutil.which("chromium") or shutil.which("chromium-browser")
    if path is None:
        pytest.skip("Chromium is not installed (tools/ensure_chromium.sh installs it)")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        found = play.chromium.launch(
            executable_path=path,
            args=[
                "--no-sandbox",
                "--disable-gpu",
                "--disable-quic",
                "--no-first-run",
                "--disable-background-networking",
                "--disable-component-update",
                "--disable-sync",
            ],
        )
        yield found
        found.close()


@dataclass(frozen=True)
class Watched:
    """A page with what went wrong in it."""

    page: Any
    faults: list[str]


@pytest.fixture
def open_page(browser: Any) -> Iterator[Callable[..., Any]]:
    """Open an address in a fresh window.

    A script error, an error or warning in the console or a request to elsewhere fails the test;
    ``expected`` is a pattern of what the console may say in this one.
    """
    contexts: list[Any] = []
    watched: list[Watched] = []

    def open_(
        server: Server,
        path: str = "/",
        *,
        scheme: str = "light",
        width: int = 1440,
        height: int = 900,
        expected: str = "",
    ) -> Any:
        context = browser.new_context(
            color_scheme=scheme, viewport={"width": width, "height": height}, reduced_motion="reduce"
        )
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(30_000)
        faults: list[str] = []
        page.on("pageerror", lambda error: faults.append(f"script: {error}"))
        page.on("request", lambda request: _watch(request.url, server, faults))
        page.on("console", lambda said: _hear(said, expected, faults))
        watched.append(Watched(page, faults))
        page.goto(server.url)
        if path != "/":
            page.goto(server.base + path)
        return page

    yield open_
    found = [fault for w in watched for fault in w.faults]
    for context in contexts:
        context.close()
    assert not found, found


def _hear(said: Any, expected: str, faults: list[str]) -> None:
    if said.type in {"error", "warning"} and not (expected and re.search(expected, said.text)):
        faults.append(f"console: {said.text}")


def _watch(url: str, server: Server, faults: list[str]) -> None:
    if url.startswith(("data:", "blob:")):
        return
    if urlsplit(url).netloc != urlsplit(server.base).netloc:
        faults.append(f"request to elsewhere: {url}")
