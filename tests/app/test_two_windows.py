"""Two windows, an edit by hand, a server that ends in the middle: nothing is lost and nothing overwritten."""

from __future__ import annotations

import shutil
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest

from app.steps import decisions, expect, settled


@pytest.fixture
def study(small_demo: Path, small_analysis: Any, tmp_path: Path) -> Path:
    folder = tmp_path / "study"
    shutil.copytree(small_demo, folder)
    return folder


def weights(study: Path) -> list[float]:
    text = (study / "study.toml").read_text("utf-8")
    return [want["weight"] for want in tomllib.loads(text)["choice"]["wants"]]


def weight(page: Any, i: int) -> Any:
    return page.locator(f"weigh-wants input[type=number][data-weight='{i}']")


def test_two_windows_and_a_hand_do_not_overwrite_each_other(
    study: Path, start_server: Callable[..., Any], open_page: Callable[..., Any]
) -> None:
    server = start_server(study)
    refused = "status of 40[09]"
    first = open_page(server, "/chooses", expected=refused)
    settled(first)
    second = open_page(server, "/chooses")
    settled(second)
    keep = "Keep in study.toml"

    # Each changes another weight: both stand.
    weight(first, 0).fill("3")
    weight(second, 1).fill("4")
    first.get_by_role("button", name=keep).click()
    expect(first.locator("#said")).to_contain_text("Kept")
    second.get_by_role("button", name=keep).click()
    expect(second.locator("#said")).to_contain_text("Kept")
    assert weights(study) == [3.0, 4.0, 1.0, 0.5]

    # A hand changes what a window has in hand: the window is told, and keeps what it has in hand.
    settled(first)
    weight(first, 2).fill("2")
    path = study / "study.toml"
    path.write_text(path.read_text("utf-8").replace("weight = 1.0", "weight = 1.5"), "utf-8")
    expect(first.locator("work-state")).to_contain_text("changed meanwhile")
    first.get_by_role("button", name=keep).click()
    expect(first.locator("#said")).to_contain_text("changed to 1.5")
    assert weights(study) == [3.0, 4.0, 1.5, 0.5]
    expect(weight(first, 2)).to_have_value("2")
    first.get_by_role("button", name=keep).click()
    expect(first.locator("#said")).to_contain_text("Kept")
    assert weights(study) == [3.0, 4.0, 2.0, 0.5]

    # A mistake by hand is named on every page, and the page mends itself with the file.
    whole = path.read_text("utf-8")
    path.write_text(whole.replace('analyte = "nitrite"', "analyte = 7"), "utf-8")
    expect(second.get_by_role("link", name="The folder has 1 mistake")).to_be_visible()
    second.get_by_role("link", name="The folder has 1 mistake").click()
    expect(second.get_by_role("heading", name="What is missing or wrong")).to_be_visible()
    path.write_text(whole, "utf-8")
    expect(second.locator("table.records")).to_be_visible()


def test_a_server_that_ends_in_the_middle_loses_nothing(
    study: Path, start_server: Callable[..., Any], open_page: Callable[..., Any]
) -> None:
    server = start_server(study)
    page = open_page(server, "/responds", expected="net::ERR_|WebSocket|status of 403")
    settled(page)
    editor = page.locator("baseline-editor")
    told = editor.locator(".told")
    expect(told).to_contain_text("Peak current")
    handle = editor.get_by_role("slider", name="Window 1, end")
    handle.press("PageDown")
    editor.get_by_role("button", name="Keep this baseline").click()
    expect(page.locator("#said")).to_contain_text("Baseline kept")
    kept = decisions(study)
    assert len(kept) == 1
    undo = page.get_by_role("button", name="Take back")
    expect(undo).to_be_enabled()
    undo.click()
    expect(page.locator("#said")).to_contain_text("Taken back")
    assert not decisions(study)
    page.get_by_role("button", name="Do again").click()
    expect(page.locator("#said")).to_contain_text("Done again")
    assert decisions(study) == kept

    server.process.kill()
    server.process.wait(30)
    assert decisions(study) == kept
    expect(page.locator("work-state")).to_contain_text("The server does not answer")
    field = editor.get_by_label("Window 1, end / V")
    handle.press("PageDown")
    in_hand = field.input_value()
    editor.get_by_role("button", name="Keep this baseline").click()
    expect(page.locator("#said")).to_contain_text("not saved")
    assert decisions(study) == kept

    again = start_server(study, "--port", str(urlsplit(server.url).port))
    expect(page.locator("work-state")).to_contain_text("started anew")
    page.context.new_page().goto(again.url)
    settled(page)
    expect(field).to_have_value(in_hand)
    editor.get_by_role("button", name="Keep this baseline").click()
    expect(page.locator("#said")).to_contain_text("Baseline kept")
    (found,) = decisions(study)
    assert any(in_hand in end for window in found["windows"] for end in window)
