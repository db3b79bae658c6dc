"""Memory of the local app while a person works in it for an hour: the server's, and that of the pages.

    python tools/app_hour.py --minutes 60      prints a line a minute, then what grew
    python tools/app_hour.py --minutes 60 --small --samples hour.json

Chromium is driven through every place again and again at a person's pace: traces, baselines,
additions, particles, points left out, weights, the report; every decision is really written and
analysed, and taken back. One page walks from place to place; three others stay open all the
time and follow each change. Growth is judged after the first tenth by a line through the medians
of eight stretches, with its interval.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

STAYING = ("/responds", "/quantifies", "/record/12")
"""What the pages show that stay open and follow."""
WALKING = "walking"
PATIENT = 300_000
"""For one step, ms: the machine may be busy with other things."""
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update"]
WARM = 0.1
"""Part of the time that is warming up."""


@contextmanager
def serving(folder: Path) -> Iterator[tuple[int, str]]:
    """The server in its own process: its number and its address."""
    process = subprocess.Popen(
        [sys.executable, "-m", "halfcell", "serve", str(folder), "--no-browser"],
        stdout=subprocess.PIPE, text=True, env=os.environ | {"PYTHONUNBUFFERED": "1"},
    )  # fmt: skip
    try:
        assert process.stdout is not None
        found = re.search(r"http://\S+", process.stdout.readline())
        assert found, "the server did not say its address"
        yield process.pid, found.group(0)
    finally:
        process.terminate()
        process.wait(30)


def resident(pid: int) -> float:
    """Resident memory of a process, MB."""
    status = Path(f"/proc/{pid}/status")
    if status.exists():
        return int(re.findall(r"VmRSS:\s+(\d+)", status.read_text("utf-8"))[0]) / 1024
    told = subprocess.run(["ps", "-o", "rss=", "-p", str(pid)], stdout=subprocess.PIPE, text=True, check=True)
    return int(told.stdout) / 1024


class TimeUp(Exception):
    """The work is over."""


@dataclass(slots=True)
class Walk:
    """One person at work: ``pace`` is the pause between actions, s."""

    page: Any
    base: str
    pace: float
    look_up: Callable[[], None]
    """Called between actions."""
    save_every: int = 5
    """Rounds from one saved report to the next."""
    turn: int = 0
    decisions: int = 0

    def rest(self) -> None:
        """A person's pause."""
        self.page.wait_for_timeout(self.pace * 1e3)
        self.look_up()

    def go(self, path: str) -> None:
        """Another place, when its numbers are those of the folder."""
        self.page.goto(self.base + path, wait_until="domcontentloaded")
        self.settled()
        self.rest()

    def settled(self) -> None:
        """Wait until the work is done and a page that was told of it has followed."""
        self.page.locator('work-state[data-state="done"]').wait_for(state="attached", timeout=PATIENT)

    def decide(self, path: str, act: Callable[[], None]) -> None:
        """Act, wait until the server says that it is on disk, then until it is analysed."""
        with self.page.expect_response(lambda answer: answer.url.endswith(path), timeout=PATIENT) as answer:
            act()
        if not answer.value.ok:
            raise RuntimeError(f"{path}: {answer.value.text()}")
        self.decisions += 1
        self.rest()
        self.settled()

    def pick(self, select: str, k: int) -> None:
        """The k-th entry of a list, from the start again after its end."""
        n = self.page.locator(f"{select} option").count()
        self.page.locator(select).select_option(index=k % n)
        self.rest()

    def look(self) -> None:
        """The grid, a record, its samples near, where a number in it came from."""
        self.go("/")
        self.page.mouse.wheel(0, 600)
        self.go(f"/record/{(7 * self.turn) % 90}")
        if self.page.locator("trace-view .main-svg").count():
            self.page.evaluate(
                "() => { const v = document.querySelector('trace-view'), r = v._fullLayout.xaxis.range, d = (r[1] - r[0]) / 4;"
                " return Plotly.relayout(v, { 'xaxis.range': [r[0] + d, r[1] - d] }).then(() => 0); }"
            )
            self.rest()
        numbers = self.page.locator("a.number")
        if numbers.count():
            self.go(str(numbers.first.get_attribute("href")))

    def baseline(self) -> None:
        """Drag the end of a window, keep it, lay other voltammograms over each other."""
        self.go("/responds")
        self.pick("#baseline-record", self.turn)
        handle = self.page.locator("baseline-editor .handle").nth(1)
        handle.scroll_into_view_if_needed()
        box = handle.bounding_box()
        x, y = box["x"] + box["width"] / 2, box["y"] + 30
        self.page.mouse.move(x, y)
        self.page.mouse.down()
        for k in range(1, 13):
            self.page.mouse.move(x - 2 * k, y)
            self.page.wait_for_timeout(40)
        self.page.mouse.up()
        self.rest()
        self.decide("/decide", self.page.get_by_role("button", name="Keep this baseline").click)
        self.page.locator("overlay-view input[type=checkbox]").nth(self.turn % 8).click()
        self.settled()
        self.rest()

    def additions(self) -> None:
        """An addition more and away again; a point left out and brought back."""
        self.go("/quantifies")
        self.pick("#step-record", self.turn)
        self.page.locator("#step-add").fill("31")
        self.decide("/decide", self.page.get_by_role("button", name="Add it").click)
        self.pick("#point-line", self.turn)
        self.pick("#point-level", self.turn)
        self.page.get_by_label("Reason").fill("a bubble under the electrode")
        self.decide("/decide", self.page.get_by_role("button", name="Leave it out").click)
        back = self.page.locator("point-rejector").get_by_role("button", name="Put it back").first
        self.decide("/decide/without", back.click)

    def particles(self) -> None:
        """A particle out, and back."""
        self.go("/made")
        self.pick("#particle-image", self.turn)
        self.decide("/decide", lambda: self.page.locator("path.particle:not(.cut)").nth(2).press("Enter"))
        self.decide("/decide/without", lambda: self.page.locator("circle.excluded").first.press("Enter"))

    def weights(self) -> None:
        """A weight moved step by step, then as the study says."""
        self.go("/confounds")
        self.page.mouse.wheel(0, 900)
        self.go("/chooses")
        slider = self.page.locator("weigh-wants input[type=range]").first
        slider.focus()
        for _ in range(10):
            slider.press("ArrowLeft")
            self.page.wait_for_timeout(60)
        self.rest()
        self.page.get_by_role("button", name="As the study says").click()
        self.rest()

    def report(self) -> None:
        """The report seen; now and then saved."""
        self.go("/report")
        self.page.get_by_role("button", name="See it").click()
        self.page.frame_locator("iframe").locator("h2").first.wait_for(timeout=PATIENT)
        self.rest()
        if self.turn % self.save_every == 0:
            self.page.get_by_role("button", name="Save in the study folder").click()
            self.page.locator("[data-saved]", has_text="Saved in").wait_for(timeout=PATIENT)

    def undo(self) -> None:
        """Take the last steps back, and do one again and back."""
        self.go("/quantifies")
        for name, path in (*[("Take back", "/undo")] * 6, ("Do again", "/redo"), ("Take back", "/undo")):
            button = self.page.locator("take-back").get_by_role("button", name=name)
            if button.is_enabled():
                self.decide(path, button.click)

    def round(self) -> None:
        """Everything once; the folder is as it was at the start of the round."""
        for part in (
            self.look,
            self.baseline,
            self.additions,
            self.particles,
            self.weights,
            self.report,
            self.undo,
        ):
            part()
        self.turn += 1


def counted(session: Any) -> dict[str, float]:
    """Memory of a page after its rubbish is collected: heap in MB, nodes, listeners."""
    for _ in range(2):
        session.send("HeapProfiler.collectGarbage")
    found = {m["name"]: m["value"] for m in session.send("Performance.getMetrics")["metrics"]}
    return {
        "heap": found["JSHeapUsedSize"] / 2**20,
        "nodes": found["Nodes"],
        "listeners": found["JSEventListeners"],
    }


@dataclass(slots=True)
class Sampler:
    """Samples once a minute; the walking page, and the server at rest, only where they are the same each round."""

    pid: int
    pages: dict[str, Any]
    tell: Callable[[dict[str, float]], None]
    begun: float
    until: float
    last: float = 0.0

    def take(self, walking: bool) -> None:
        """A sample now."""
        self.last = time.monotonic()
        sample = {"minutes": (self.last - self.begun) / 60, "server": resident(self.pid)}
        if walking:
            sample["server at rest"] = sample["server"]
        for name, session in self.pages.items():
            if walking or name != WALKING:
                sample |= {f"{name} {what}": value for what, value in counted(session).items()}
        self.tell(sample)

    def look_up(self) -> None:
        """A sample when a minute has passed."""
        if time.monotonic() - self.last > 60:
            self.take(walking=False)
        if time.monotonic() > self.until:
            raise TimeUp


def work(
    folder: Path, minutes: float, pace: float, save_every: int, tell: Callable[[dict[str, float]], None]
) -> Walk:
    """Work in a study for so long; ``tell`` is given each sample."""
    from playwright.sync_api import sync_playwright

    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    with serving(folder) as (pid, url), sync_playwright() as play:
        browser = play.chromium.launch(executable_path=chromium, args=FLAGS)
        base = url.split("/?")[0]
        pages, sessions = {}, {}
        for name in (WALKING, *STAYING):
            context = browser.new_context(viewport={"width": 1440, "height": 900}, reduced_motion="reduce")
            page = context.new_page()
            page.set_default_timeout(PATIENT)
            page.goto(url, wait_until="domcontentloaded")
            page.goto(base + (name if name != WALKING else "/"), wait_until="domcontentloaded")
            pages[name], sessions[name] = page, context.new_cdp_session(page)
            sessions[name].send("Performance.enable")
        now = time.monotonic()
        sampler = Sampler(pid, sessions, tell, now, now + minutes * 60)
        walk = Walk(pages[WALKING], base, pace, sampler.look_up, save_every)
        walk.settled()
        try:
            while True:
                walk.round()
                walk.go("/confounds")
                sampler.take(walking=True)
        except TimeUp:
            pass
        browser.close()
    return walk


@dataclass(frozen=True, slots=True, kw_only=True)
class Growth:
    """Growth from the warm start to the end, as a part of the value at the warm start."""

    start: float
    end: float
    low: float
    value: float
    high: float


def growth(minutes: Sequence[float], values: Sequence[float]) -> Growth:
    """Of samples after the warm-up: the slope times the span, over the level where the line begins.

    The samples are put into eight stretches, the line goes through the stretches' medians, and its
    interval (95 %, Student's t) rests on how far these lie from it: samples within a stretch
    resemble each other and are not counted as so many. Raises ValueError for fewer than five samples.
    """
    from scipy import stats

    x, y = np.asarray(minutes, float), np.asarray(values, float)
    x, y = x[x >= WARM * x[-1]], y[x >= WARM * x[-1]]
    if len(x) < 5:
        raise ValueError(f"{len(x)} samples after the warm-up are too few to judge growth; work longer.")
    parts = np.array_split(np.arange(len(x)), min(8, len(x)))
    middle = np.array([np.mean(x[part]) for part in parts])
    level = np.array([np.median(y[part]) for part in parts])
    line = stats.linregress(middle, level)
    span = float(x[-1] - x[0])
    start = float(line.intercept + line.slope * x[0])
    error = line.stderr if np.ptp(level) else 0.0  # no scatter at all has no slope to be unsure of
    half = float(stats.t.ppf(0.975, len(parts) - 2) * error)
    low, value, high = (float(line.slope + k * half) * span / start for k in (-1, 0, 1))
    return Growth(start=start, end=start * (1 + value), low=low, value=value, high=high)


def main() -> None:
    """Work, then say what grew."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--minutes", type=float, default=60)
    asked.add_argument("--pace", type=float, default=2.0, help="pause between actions, s")
    asked.add_argument("--save-every", type=int, default=5, help="rounds from one saved report to the next")
    asked.add_argument("--small", action="store_true", help="the small demo")
    asked.add_argument("--samples", type=Path, help="write the samples to this file too")
    given = asked.parse_args()
    from halfcell.demo import write

    with tempfile.TemporaryDirectory() as base:
        folder = Path(base) / "study"
        write(folder, small=given.small)
        taken: list[dict[str, float]] = []

        def tell(sample: dict[str, float]) -> None:
            taken.append(sample)
            print("  ".join(f"{k} {v:.5g}" for k, v in sample.items()), flush=True)
            if given.samples:
                given.samples.write_text(json.dumps(taken), "utf-8")

        walk = work(folder, given.minutes, given.pace, given.save_every, tell)
    print(
        f"\n{taken[-1]['minutes']:.0f} min, {walk.turn} rounds, {walk.decisions} decisions written and analysed"
    )
    for name in taken[-1]:
        if name != "minutes":
            some = [s for s in taken if name in s]
            if len(some) < 6:
                print(f"{name:24} {len(some):3} samples: too few")
                continue
            g = growth([s["minutes"] for s in some], [s[name] for s in some])
            print(
                f"{name:24} {len(some):3} {g.start:9.1f} -> {g.end:9.1f}   {100 * g.value:+5.1f} % ({100 * g.low:+.1f} to {100 * g.high:+.1f})"
            )


if __name__ == "__main__":
    main()
