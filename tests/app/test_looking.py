"""The first look at a study of many files: at once with a bar, given up by leaving, not done twice."""

from __future__ import annotations

import http.client
import json
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import uvicorn

import halfcell.readers
from app.steps import expect
from app.test_pages import KEY, client_of
from halfcell.app import looking
from halfcell.app.main import create_app
from halfcell.app.serve import hosts

COUNT = 60
STUDY = (
    'format = 1\nanalyte = "nitrite"\nreference_electrode = "Ag/AgCl, 3 M KCl"\n'
    '[electrodes.one]\nmaterial = "nickel"\narea = "0.07 cm^2"\n'
)


@pytest.fixture
def many(tmp_path: Path) -> Path:
    """A study of sixty small files of two layouts, none of which was looked at."""
    folder = tmp_path / "many"
    (folder / "data").mkdir(parents=True)
    sweep = np.concatenate([np.linspace(0, 0.9, 30), np.linspace(0.9, 0, 30)])
    for number in range(COUNT):
        head, mark = ("E/V,i/uA", ",") if number % 3 else ("E/V;i/uA", ";")
        rows = "\n".join(f"{e:.3f}{mark}{np.sin(k + number):.4f}" for k, e in enumerate(sweep))
        (folder / "data" / f"n{number}.csv").write_text(f"{head}\n{rows}\n", "utf-8")
    (folder / "study.toml").write_text(STUDY, "utf-8")
    (folder / "runs.csv").write_text("file,electrode,technique\n", "utf-8")
    return folder


class Slow:
    """The reader of previews, which reads a file each time it is let."""

    def __init__(self, free: bool) -> None:
        self.calls, self.may, self.free = 0, threading.Semaphore(0), free
        self.own = halfcell.readers.preview

    def __call__(self, *args: Any, **more: Any) -> Any:
        if not self.free:
            assert self.may.acquire(timeout=60)
        self.calls += 1
        return self.own(*args, **more)


@pytest.fixture
def slow(monkeypatch: pytest.MonkeyPatch) -> Slow:
    slow = Slow(free=True)
    monkeypatch.setattr(halfcell.readers, "preview", slow)
    return slow


def test_the_page_is_there_at_once_then_a_bar_then_the_layouts(many: Path, slow: Slow) -> None:
    with client_of(many) as client:
        first = client.get("/files").text
        assert slow.calls == 0
        assert f"{COUNT} files were not looked at yet" in first
        assert 'data-way="/files/look"' in first
        told = [json.loads(line) for line in client.get("/files/look").text.splitlines()]
        assert slow.calls == COUNT
        assert told[0] == {"step": "Reading the files", "done": 0, "of": COUNT}
        assert [t["done"] for t in told[:-1]] == list(range(COUNT + 1))
        assert told[-1] == {"read": True}
        second = client.get("/files").text
        assert slow.calls == COUNT
        assert "40 files such as" in second
        assert "20 files such as" in second
        # The page of one file needs its siblings: they are known from the same look.
        assert '<reading-form data-start="' in client.get("/reading", params={"file": "data/n1.csv"}).text


def test_a_file_that_is_being_written_or_gone_ends_no_look(many: Path, slow: Slow) -> None:
    with client_of(many) as client:
        desk = client.app.app.state.desk  # type: ignore[attr-defined]
        waiting = looking.unread(desk, looking.own_files(desk))
        (many / "data" / "n3.csv").unlink()
        assert list(looking.look(waiting, COUNT))[-1] == ("Reading the files", COUNT, COUNT)
        client.get("/files/look")
        for file in (many / "data").iterdir():
            file.write_text(file.read_text("utf-8") + "0.0,0.0\n", "utf-8")
        # All are newer than the look, which went through to its end: the page is shown, not the bar again.
        assert "files such as" in client.get("/files").text


@pytest.fixture
def address(many: Path) -> Iterator[tuple[str, int]]:
    """A server in this process, so that its reader can be slowed."""
    from halfcell.app.serve import _listen

    listening = _listen("127.0.0.1", 0)
    port = listening.getsockname()[1]
    app = create_app(None, hosts=hosts("127.0.0.1", port), token=KEY, cores=1)
    app.app.state.desk.folder = many  # type: ignore[attr-defined]
    server = uvicorn.Server(uvicorn.Config(app, log_level="error", timeout_graceful_shutdown=2, ws="none"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
    thread.start()
    yield "127.0.0.1", port
    server.should_exit = True
    thread.join(30)


def test_whoever_leaves_ends_the_reading(address: tuple[str, int], slow: Slow) -> None:
    slow.free = False
    connection = http.client.HTTPConnection(*address, timeout=60)
    connection.request("GET", "/files/look", headers={"cookie": f"halfcell-{address[1]}={KEY}"})
    answer = connection.getresponse()
    slow.may.release()
    assert json.loads(answer.readline())["done"] == 0
    assert json.loads(answer.readline())["done"] == 1
    answer.close()
    connection.close()
    # Files are let through, with time to notice between them; a reading that went on would take them all.
    noticed = threading.Event()
    for _ in range(COUNT):
        slow.may.release()
        noticed.wait(0.05)
    assert slow.calls < COUNT // 2


def test_the_bar_gives_way_to_the_layouts_in_the_page(
    many: Path, start_server: Callable[..., Any], open_page: Callable[..., Any]
) -> None:
    page = open_page(start_server(many))
    held: list[Any] = []
    page.route("**/files/look", lambda route: held.append(route))
    page.goto(f"{page.url.rstrip('/')}/files")
    bar = page.get_by_role("progressbar", name="Reading the files")
    expect(bar).to_be_visible()
    expect(page.locator("main")).to_contain_text("60 files were not looked at yet")
    held.pop().continue_()
    expect(page.get_by_role("heading", level=1, name="Are the files read rightly?")).to_be_visible()
    expect(page.locator("main")).to_contain_text("40 files such as")
    expect(bar).to_have_count(0)
