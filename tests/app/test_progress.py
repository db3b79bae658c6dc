"""The bar of the analysis in a browser: it names the step, can be stopped, and what was finished is kept."""

from __future__ import annotations

import re
import shutil
import signal
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from app.steps import PATIENT, expect


@pytest.fixture
def study(small_demo: Path, tmp_path: Path) -> Path:
    """The records of two electrodes of the small demo, of which nothing is in the cache."""
    folder = tmp_path / "study"
    shutil.copytree(small_demo, folder)
    head, *rows = (folder / "runs.csv").read_text("utf-8").splitlines()
    kept = [row for row in rows if re.search(r"(Ni|Cu)-1", row)]
    (folder / "runs.csv").write_text("\n".join([head, *kept]) + "\n", "utf-8")
    return folder


def test_the_bar_names_the_step_and_the_work_can_be_stopped_and_begun_again(
    study: Path, start_server: Callable[..., Any], open_page: Callable[..., Any], tmp_path: Path
) -> None:
    page = open_page(start_server(study, cache=tmp_path / "cache"))
    # The study opens at once: its grid is there while the work goes on.
    expect(page.locator("table.records tbody tr").first).to_be_visible()
    work = page.locator("work-state")
    bar = work.get_by_role("progressbar", name="Progress of the analysis")
    expect(bar).to_be_visible()
    expect(work).to_contain_text(re.compile(r"[A-Z][a-z ]+: \d+ of \d+"))
    page.get_by_role("button", name="Stop").click()
    expect(work).to_contain_text("The analysis was stopped. What was finished is kept.")
    expect(bar).to_have_count(0)
    # A look elsewhere does not begin it again.
    page.get_by_role("navigation", name="Questions").get_by_role("link", name="Made").click()
    expect(work).to_contain_text("The analysis was stopped")
    page.get_by_role("button", name="Analyse again").click()
    expect(bar).to_be_visible()
    page.wait_for_selector('work-state[data-state="done"]', state="attached", timeout=4 * PATIENT)
    expect(work).not_to_contain_text("stopped")
    expect(page.locator("electrode-grid tbody tr").first).to_be_visible()


@pytest.mark.skipif(sys.platform == "win32", reason="Windows ends a process without telling it")
def test_the_end_of_the_server_ends_the_work_and_leaves_nothing(
    study: Path, start_server: Callable[..., Any], tmp_path: Path
) -> None:
    server = start_server(study, cache=tmp_path / "cache")
    entries = tmp_path / "cache"
    until = time.monotonic() + 120
    while not any(entries.rglob("*")) and time.monotonic() < until:
        time.sleep(0.2)
    assert any(entries.rglob("*")), "the analysis did not begin"
    server.process.terminate()
    said, _ = server.process.communicate(timeout=60)
    # Work that went on would keep it alive; work that was cut off would leave complaints of what it held.
    assert said == ""
    assert server.process.returncode == -signal.SIGTERM
