"""The local app: start, drag to number, weight to ranking, a grid of 1,000 records, a trace of 5 million points thinned against whole.

The reference sends every point of the same trace over a local connection, as a page without thinning would need.
"""

from __future__ import annotations

import http.client
import json
import os
import re
import shutil
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

import benchmarks
from benchmarks import Result, best_of_pair

RECORDS = 1000
POINTS = 5_000_000
MOVES = 80


@dataclass(frozen=True, slots=True)
class Served:
    """A server of its own process, asked over one kept connection as a browser does."""

    link: http.client.HTTPConnection
    cookie: str
    begun: float

    def ask(self, path: str, body: Any = None) -> bytes:
        host = f"{self.link.host}:{self.link.port}"
        headers = {"cookie": self.cookie, "origin": f"http://{host}", "accept": "text/html"}
        data = None
        if body is not None:
            data, headers["content-type"] = json.dumps(body).encode(), "application/json"
        self.link.request("POST" if body is not None else "GET", path, data, headers)
        answer = self.link.getresponse()
        content = answer.read()
        if answer.status != 200:
            raise RuntimeError(f"{path}: {answer.status} {content[:200]!r}")
        return content


@contextmanager
def serving(folder: Path, cache: Path) -> Iterator[Served]:
    root = Path(benchmarks.__file__).parent.parent
    paths = os.pathsep.join([str(root / "src"), os.environ.get("PYTHONPATH", "")])
    environment = os.environ | {"HALFCELL_CACHE": str(cache), "PYTHONPATH": paths, "PYTHONUNBUFFERED": "1"}
    begun = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, "-m", "halfcell", "serve", str(folder), "--no-browser"],
        env=environment, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    try:
        assert process.stdout is not None
        found = re.search(r"http://127\.0\.0\.1:(\d+)/\?key=(\S+)", process.stdout.readline())
        assert found, "the server did not say its address"
        port = int(found.group(1))
        link = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
        yield Served(link, f"halfcell-{port}={found.group(2)}", begun)
    finally:
        process.kill()
        process.wait(30)
        if process.stdout is not None:
            process.stdout.close()


def many(folder: Path, like: Path) -> None:
    """A study of 1,000 short voltammograms on 100 electrodes."""
    (folder / "data").mkdir(parents=True)
    lines = like.read_text("utf-8").splitlines()
    text = "\n".join([*lines[:60], ""])
    rows = ["file,electrode,technique,solution,concentration,scan_rate"]
    tables = []
    for e in range(RECORDS // 10):
        tables += [f"[electrodes.E-{e}]", f'material = "m{e % 5}"', 'area = "0.07 cm^2"', ""]
        for k in range(10):
            name = f"data/E-{e}_{k}.csv"
            (folder / name).write_text(text, "utf-8")
            rows.append(f"{name},E-{e},cyclic voltammogram,buffer,{k} mmol/L,50 mV/s")
    head = [
        "format = 1",
        'analyte = "nitrite"',
        'reference_electrode = "Ag/AgCl"',
        'group_by = "material"',
        "",
    ]
    solution = ["[solutions.buffer]", 'description = "buffer"', ""]
    (folder / "study.toml").write_text("\n".join([*head, *solution, *tables]), "utf-8")
    (folder / "runs.csv").write_text("\n".join([*rows, ""]), "utf-8")


def start(folder: Path, cache: Path) -> tuple[float, float, list[float], list[float]]:
    """Start to the grid, start to the numbers, each move of a baseline's end to its number, of a weight to the ranking, s."""
    with serving(folder, cache) as served:
        assert b"records" in served.ask("/")
        grid = time.perf_counter() - served.begun
        while b"<baseline-editor" not in (page := served.ask("/responds")):
            time.sleep(0.05)
        numbers = time.perf_counter() - served.begun
        record = json.loads(_attribute(page, "baseline-editor"))["records"][0]
        asked = {"file": record["file"], "direction": record["direction"]}
        windows = json.loads(served.ask("/responds/try", asked))["windows"]
        moves = []
        for k in range(MOVES):
            moved = [[f"{a:.4f} V", f"{b + 1e-3 * (k % 20 - 10):.4f} V"] for a, b in windows]
            begun = time.perf_counter()
            json.loads(served.ask("/responds/try", asked | {"windows": moved, "sequence": k}))
            moves.append(time.perf_counter() - begun)
        weights = [
            want["weight"] for want in json.loads(_attribute(served.ask("/chooses"), "weigh-wants"))["wants"]
        ]
        ranked = []
        for k in range(MOVES):
            begun = time.perf_counter()
            json.loads(served.ask("/chooses/try", {"weights": [0.1 * (k + 1), *weights[1:]]}))
            ranked.append(time.perf_counter() - begun)
    return grid, numbers, moves, ranked


def _attribute(page: bytes, element: str) -> str:
    import html

    found = re.search(rf'<{element}[^>]*data-start="([^"]*)"', page.decode())
    assert found
    return html.unescape(found.group(1))


def sent(content: bytes) -> None:
    """Through a local connection, until the last byte is there."""
    here, there = socket.socketpair()

    def send() -> None:
        here.sendall(content)
        here.close()

    thread = threading.Thread(target=send)
    thread.start()
    while there.recv(1 << 20):
        pass
    thread.join()
    there.close()


def traces() -> tuple[float, float, int, int]:
    """5 million points thinned and sent, whole and sent: s, s, bytes, bytes."""
    from halfcell.app.traces import packed, thinned

    rng = np.random.default_rng(1)
    x = np.arange(POINTS) * 1e-3
    y = 1e-6 * (np.sin(x / 50) + 0.1 * rng.standard_normal(POINTS))
    few, all_ = packed(x, y, thinned(x, y)), packed(x, y, np.arange(POINTS))
    assert np.isin(np.argmax(y), thinned(x, y)), "the highest point is kept"
    ours, theirs = best_of_pair(
        lambda: sent(packed(x, y, thinned(x, y))), lambda: sent(packed(x, y, np.arange(POINTS))), 3, 8.0
    )
    return ours, theirs, len(few), len(all_)


def run() -> Result:
    """All five."""
    import halfcell
    from halfcell.cache import Cache
    from halfcell.demo import write

    with tempfile.TemporaryDirectory() as base:
        demo, large, cache = Path(base) / "demo", Path(base) / "large", Path(base) / "cache"
        write(demo, small=True)
        halfcell.analyze(demo, cache=Cache(cache))
        grid, numbers, moves, ranked = start(demo, cache)
        many(large, next((demo / "data").glob("*_cv_blank_50mVs.csv")))
        with serving(large, cache) as served:
            page = served.ask("/")
            thousand = time.perf_counter() - served.begun
            assert page.count(b"/thumbnail") == RECORDS // 10
            begun = time.perf_counter()
            served.ask("/")
            again = time.perf_counter() - begun
        shutil.rmtree(large)
    ours, theirs, few, whole = traces()
    p95, rank95 = (float(np.quantile(seconds, 0.95)) for seconds in (moves, ranked))
    rows = (
        ("start to the grid, demo, warm", f"{grid:.2f} s", ""),
        ("start to the numbers, demo, warm", f"{numbers:.2f} s", ""),
        (f"drag to number, p95 of {MOVES}", f"{p95 * 1e3:.1f} ms", ""),
        (f"weight to ranking, p95 of {MOVES}", f"{rank95 * 1e3:.1f} ms", ""),
        (f"start to the grid of {RECORDS} records", f"{thousand:.2f} s", ""),
        (f"grid of {RECORDS} records again", f"{again:.2f} s", ""),
        (f"trace of {POINTS:,} points", f"{ours * 1e3:.1f} ms", f"{theirs * 1e3:.1f} ms"),
    )
    notes = (f"bytes sent: {few:,} against {whole:,}", f"cores: {os.cpu_count()}")
    return Result(name="app", halfcell=ours, reference=theirs, rows=rows, notes=notes)
