"""What several browser tests do alike; every wait is for something seen, and patient."""

from __future__ import annotations

import time
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

PATIENT = 60_000


def expect(thing: Any) -> Any:
    from playwright.sync_api import expect as expect_

    expect_.set_options(timeout=PATIENT)
    return expect_(thing)


def decisions(folder: Path) -> list[dict[str, Any]]:
    path = folder / "adjustments.toml"
    return tomllib.loads(path.read_text("utf-8")).get("adjustment", []) if path.exists() else []


def settled(page: Any) -> None:
    """Wait until the numbers on the page are those of the folder as it is."""
    page.wait_for_selector('work-state[data-state="done"]', state="attached", timeout=4 * PATIENT)


def go(page: Any, place: str) -> None:
    page.get_by_role("navigation", name="Questions").get_by_role("link", name=place).click()
    expect(page.get_by_role("heading", level=1, name=place)).to_be_visible()


def until(true: Callable[[], bool], *, seconds: float = 60, what: str = "it") -> None:
    """Wait for something, by looking; says what when it never comes."""
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end, f"{what} did not happen within {seconds} s"
        time.sleep(0.05)
