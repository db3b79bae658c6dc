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
    both = first.locator("weigh-wants .clashes tbody tr")
    expect(both).to_have_count(1)
    expect(both.locator("td").nth(0)).to_have_text("2")
    expect(both.locator("td").nth(1)).to_have_text("1.5")
    both.get_by_role("button", name="Take the one in the folder").click()
    expect(weight(first, 2)).to_have_value("1.5")
    expect(both).to_have_count(0)
    weight(first, 2).fill("2")
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


def test_a_cell_changed_in_another_window_and_by_hand_is_shown_in_both_versions(
    study: Path, start_server: Callable[..., Any], open_page: Callable[..., Any]
) -> None:
    server = start_server(study)
    first = open_page(server, "/made")
    settled(first)
    second = open_page(server, "/made", expected="status of 409")
    settled(second)
    name = next(iter(electrodes(study)))
    cells = {
        page: [page.get_by_label(f"{name}, {key}") for key in ("recipe", "batch")] for page in (first, second)
    }
    for page, texts in ((first, ("dip 30 s", "B1")), (second, ("dip 60 s", "B2"))):
        for cell, text in zip(cells[page], texts, strict=True):
            cell.fill(text)
    save = "Save the changes"
    first.get_by_role("button", name=save).click()
    expect(first.locator("#said")).to_contain_text("2 changes saved")
    expect(second.locator("work-state")).to_contain_text("changed meanwhile")
    second.get_by_role("button", name=save).click()
    expect(second.locator("#said")).to_contain_text("by another window or by hand meanwhile")
    rows = second.locator("electrode-grid .clashes tbody tr")
    expect(rows).to_have_count(2)
    assert [electrodes(study)[name][key] for key in ("recipe", "batch")] == ["dip 30 s", "B1"]
    for cell, text in zip(cells[second], ("dip 60 s", "B2"), strict=True):
        expect(cell).to_have_value(text)
    expect(rows.nth(0).locator("td").nth(0)).to_have_text("dip 60 s")
    expect(rows.nth(0).locator("td").nth(1)).to_have_text("dip 30 s")

    # One is kept, the other given up; a hand changes the kept one once more in between.
    second.get_by_role("button", name="Keep mine: recipe").click()
    second.get_by_role("button", name="Take the one in the folder: batch").click()
    expect(cells[second][1]).to_have_value("B1")
    path = study / "study.toml"
    path.write_text(path.read_text("utf-8").replace("dip 30 s", "dip 45 s"), "utf-8")
    second.get_by_role("button", name=save).click()
    expect(rows.nth(0).locator("td").nth(1)).to_have_text("dip 45 s")
    assert electrodes(study)[name]["recipe"] == "dip 45 s"
    second.get_by_role("button", name="Keep mine").click()
    second.get_by_role("button", name=save).click()
    expect(second.locator("#said")).to_contain_text("1 change saved")
    assert [electrodes(study)[name][key] for key in ("recipe", "batch")] == ["dip 60 s", "B1"]
    expect(cells[first][0]).to_have_value("dip 60 s")


def test_a_baseline_kept_in_another_window_is_not_overwritten(
    study: Path, start_server: Callable[..., Any], open_page: Callable[..., Any]
) -> None:
    server = start_server(study)
    first = open_page(server, "/responds")
    second = open_page(server, "/responds", expected="status of 409")
    for page, presses in ((first, 1), (second, 2)):
        settled(page)
        expect(page.locator("baseline-editor .told")).to_contain_text("Peak current")
        for _ in range(presses):
            page.get_by_role("slider", name="Window 1, end").press("PageDown")
    keep, said = "Keep this baseline", "by another window or by hand meanwhile"
    first.get_by_role("button", name=keep).click()
    expect(first.locator("#said")).to_contain_text("Baseline kept")
    (kept,) = decisions(study)
    expect(second.locator("work-state")).to_contain_text("changed meanwhile")
    second.get_by_role("button", name=keep).click()
    expect(second.locator("#said")).to_contain_text(said)
    assert decisions(study) == [kept]
    row = second.locator("baseline-editor .clashes tbody tr")
    end = first.get_by_label("Window 1, end / V").input_value()
    expect(row.locator("td").nth(1)).to_contain_text(f"to {end} V")

    # The one in the folder is taken: nothing is in hand any more, and the page shows what stands.
    second.get_by_role("button", name="Take the one in the folder").click()
    expect(second.locator("baseline-editor")).not_to_have_attribute("data-keep", "")
    expect(second.get_by_label("Window 1, end / V")).to_have_value(end)
    # What this window keeps, takes back and keeps again never clashes with itself.
    for _ in range(2):
        second.get_by_role("slider", name="Window 1, end").press("PageUp")
        second.get_by_role("button", name=keep).click()
        expect(second.locator("#said")).to_contain_text("Baseline kept")
    second.get_by_role("button", name="Take back").click()
    expect(second.locator("#said")).to_contain_text("Taken back")
    second.get_by_role("slider", name="Window 1, end").press("PageUp")
    mine = second.get_by_label("Window 1, end / V").input_value()
    second.get_by_role("button", name=keep).click()
    expect(second.locator("#said")).to_contain_text("Baseline kept")

    # A hand changes it while it is in hand: mine is kept where a person says so.
    settled(second)
    second.get_by_role("slider", name="Window 1, end").press("PageDown")
    path = study / "adjustments.toml"
    path.write_text(path.read_text("utf-8").replace(f'"{mine} V"', f'"{end} V"'), "utf-8")
    second.get_by_role("button", name=keep).click()
    expect(second.locator("#said")).to_contain_text(said)
    second.get_by_role("button", name="Keep mine").click()
    mine = second.get_by_label("Window 1, end / V").input_value()
    second.get_by_role("button", name=keep).click()
    expect(second.locator("#said")).to_contain_text("Baseline kept")
    assert decisions(study)[-1]["windows"][0][1] == f"{mine} V"


def electrodes(study: Path) -> dict[str, Any]:
    found: dict[str, Any] = tomllib.loads((study / "study.toml").read_text("utf-8"))["electrodes"]
    return found


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
    expect(page.locator("#stopped")).to_contain_text("The program has stopped. What you decided is saved")
    expect(page.locator("#stopped code")).to_contain_text(f"--port {urlsplit(server.url).port}")
    field = editor.get_by_label("Window 1, end / V")
    handle.press("PageDown")
    in_hand = field.input_value()
    editor.get_by_role("button", name="Keep this baseline").click()
    expect(page.locator("#said")).to_contain_text("not saved")
    assert decisions(study) == kept

    again = start_server(study, "--port", str(urlsplit(server.url).port))
    expect(page.locator("#stopped")).to_contain_text("started anew")
    page.context.new_page().goto(again.url)
    settled(page)
    expect(page.locator("#stopped")).to_be_hidden()
    expect(field).to_have_value(in_hand)
    editor.get_by_role("button", name="Keep this baseline").click()
    expect(page.locator("#said")).to_contain_text("Baseline kept")
    (found,) = decisions(study)
    assert any(in_hand in end for window in found["windows"] for end in window)
