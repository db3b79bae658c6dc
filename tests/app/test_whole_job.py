"""The whole job in a browser: from the grid to the saved report, and the command line to the same digits."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from app.steps import PATIENT, decisions, expect, go, settled


@pytest.fixture
def study(small_demo: Path, small_analysis: Any, tmp_path: Path) -> Path:
    """A copy of the small demo, to be changed; what its files give is in the cache already."""
    folder = tmp_path / "study"
    shutil.copytree(small_demo, folder)
    return folder


def test_from_the_grid_to_a_report_which_the_command_line_repeats(
    study: Path, start_server: Callable[..., Any], open_page: Callable[..., Any], common_root: Path
) -> None:
    server = start_server(study)
    page = open_page(server)
    expect(page.locator("table.records tbody tr")).to_have_count(9)
    expect(page.locator("table.records img").first).to_be_visible()
    settled(page)

    go(page, "Responds")
    move_a_baseline(page, study)
    go(page, "Quantifies")
    leave_a_point_out(page, study)
    go(page, "Made")
    take_a_particle_out(page, study)
    go(page, "Chooses")
    change_a_weight(page, study)
    settled(page)
    go(page, "Report")
    saved = save_the_report(page, study)
    page.get_by_role("button", name="See it").click()
    shown = page.frame_locator("iframe")
    expect(shown.locator("body")).to_contain_text("a bubble under the electrode", timeout=2 * PATIENT)

    environment = os.environ | {"HALFCELL_CACHE": str(common_root / "cache")}
    again = subprocess.run(
        [sys.executable, "-m", "halfcell", "analyze", str(study), "--json"],
        env=environment, stdout=subprocess.PIPE, check=True,
    ).stdout  # fmt: skip
    assert json.loads(again)["findings"] == saved["findings"]


def move_a_baseline(page: Any, study: Path) -> None:
    """By keyboard, by the mouse and by its field; then it is on disk."""
    editor = page.locator("baseline-editor")
    told = editor.locator(".told")
    expect(told).to_contain_text("Peak current")
    handle = editor.get_by_role("slider", name="Window 1, end")
    field = editor.get_by_label("Window 1, end / V")
    before, words = float(field.input_value()), told.inner_text()
    handle.focus()
    handle.press("PageDown")
    expect(field).to_have_value(f"{round(before - 0.02, 4):g}")
    expect(told).not_to_have_text(words, use_inner_text=True)
    expect(handle).to_have_attribute("aria-valuenow", f"{before - 0.02:.4f}")

    words = told.inner_text()
    handle.scroll_into_view_if_needed()
    box = handle.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + 30
    page.mouse.move(x, y)
    page.mouse.down()
    for step in range(1, 6):
        page.mouse.move(x - 4 * step, y)
    page.mouse.up()
    expect(field).not_to_have_value(f"{round(before - 0.02, 4):g}")
    expect(told).not_to_have_text(words, use_inner_text=True)
    dragged = float(field.input_value())
    assert dragged < before - 0.02

    file = editor.evaluate("e => e.record.file")
    keep = editor.get_by_role("button", name="Keep this baseline")
    keep.click()
    expect(page.locator("#said")).to_contain_text("Baseline kept")
    found = [d for d in decisions(study) if d["kind"] == "baseline window"]
    assert [d["file"] for d in found] == [file]
    assert any(f"{dragged:g} V" in window for window in found[0]["windows"])
    expect(keep).to_be_disabled()


def leave_a_point_out(page: Any, study: Path) -> None:
    """Not without a reason."""
    tool = page.locator("point-rejector")
    expect(tool.get_by_label("Point").locator("option").first).to_be_attached()
    tool.get_by_label("Calibration").select_option(index=0)
    tool.get_by_label("Point").select_option(index=2)
    tool.get_by_role("button", name="Leave it out").click()
    assert not [d for d in decisions(study) if d["kind"] == "reject point"]
    tool.get_by_label("Reason").fill("a bubble under the electrode")
    tool.get_by_role("button", name="Leave it out").click()
    expect(page.locator("#said")).to_contain_text("left out")
    (found,) = (d for d in decisions(study) if d["kind"] == "reject point")
    assert found["why"] == "a bubble under the electrode"
    expect(tool.locator("[data-out]")).to_contain_text("a bubble under the electrode")
    expect(tool.get_by_label("Point").locator("option").nth(2)).to_contain_text("left out: a bubble")


def take_a_particle_out(page: Any, study: Path) -> None:
    """A click on its outline; the outline goes and a ring shows where it was."""
    editor = page.locator("particle-editor")
    particles = editor.locator("path.particle:not(.cut)")
    expect(particles.first).to_be_visible()
    settled(page)
    before = editor.locator("path.particle").count()
    particles.nth(3).click()
    expect(page.locator("#said")).to_contain_text("taken out")
    (found,) = (d for d in decisions(study) if d["kind"] == "exclude particle")
    assert found["file"] == editor.evaluate("e => e.file")
    expect(editor.locator("circle.excluded")).to_have_count(1)
    expect(editor.locator("path.particle")).to_have_count(before - 1, timeout=4 * PATIENT)


def change_a_weight(page: Any, study: Path) -> None:
    """The ranking follows the slider; keeping writes study.toml and leaves its comments."""
    tool = page.locator("weigh-wants")
    ranking = tool.locator("tbody")
    expect(ranking).to_contain_text("%")
    before = ranking.inner_text()
    slider = tool.get_by_role("slider").first
    slider.focus()
    for _ in range(8):
        slider.press("ArrowLeft")
    expect(ranking).not_to_have_text(before, use_inner_text=True)
    number = tool.locator("input[type=number][data-weight='0']")
    weight = float(number.input_value())
    assert weight == pytest.approx(1.2)
    tool.get_by_role("button", name="Keep in study.toml").click()
    expect(page.locator("#said")).to_contain_text("Kept in study.toml")
    text = (study / "study.toml").read_text("utf-8")
    assert tomllib.loads(text)["choice"]["wants"][0]["weight"] == weight
    assert text.startswith("# The data in this folder are invented.")


def save_the_report(page: Any, study: Path) -> dict[str, Any]:
    for part in ("Made", "Responds", "Quantifies", "Confounds", "Compares"):
        page.locator("report-maker").get_by_label(part, exact=True).uncheck()
    page.get_by_role("button", name="Save in the study folder").click()
    expect(page.locator("[data-saved]")).to_contain_text("Saved in", timeout=4 * PATIENT)
    for name in (
        "report.html",
        "report.pdf",
        "findings.xlsx",
        "findings.csv",
        "findings.json",
        "methods.txt",
    ):
        assert (study / "report" / name).stat().st_size > 100, name
    answer = page.request.get(f"{page.url.rsplit('/', 1)[0]}/report/file/findings.json")
    assert answer.ok
    saved: dict[str, Any] = answer.json()
    return saved


def test_loose_files_become_a_study_that_is_analysed(
    small_demo: Path, start_server: Callable[..., Any], open_page: Callable[..., Any], tmp_path: Path
) -> None:
    server = start_server()
    page = open_page(server)
    expect(page.get_by_role("heading", level=1, name="Which study?")).to_be_visible()
    wanted = [
        *sorted((small_demo / "data").glob("Ni-[12]*")),
        *sorted((small_demo / "images").glob("Ni-[12]_field1*")),
    ]
    page.locator("input[data-for=files]").set_input_files(wanted)
    expect(page.locator("[data-count]")).to_contain_text(f"{len(wanted)} files")
    target = tmp_path / "made"
    page.locator("#drop-folder").fill(str(target))
    page.locator("form[data-form=drop]").get_by_role("button", name="Make the study").click()
    expect(page.get_by_role("heading", level=1, name="Are the files read rightly?")).to_be_visible()
    page.get_by_role("link", name="On to the names").click()
    page.get_by_role("button", name="It is right: go on").click()
    expect(page.get_by_role("heading", level=1, name="What is missing or wrong")).to_be_visible()
    assert {p.name for p in wanted} <= {p.name for p in target.rglob("*")}

    section(page, "How large is each electrode?").get_by_role("textbox").first.fill("0.0707 cm^2")
    section(page, "How large is each electrode?").get_by_role("button", name="Fill in all 2").click()
    section(page, "What is each solution?").get_by_role("textbox").first.fill("phosphate buffer")
    section(page, "What is each solution?").get_by_role("button", name="Fill in all 2").click()
    for key, answer in (
        ("analyte", "nitrite"),
        ("reference_electrode", "Ag/AgCl, 3 M KCl"),
        ("confounders.oxygen.level", "258 umol/L"),
        ("analysis.amperometry.start_volume", "20 mL"),
    ):
        page.locator(f"[data-key='{key}']").fill(answer)
    page.get_by_role("button", name="Save the answers").click()
    page.get_by_role("link", name="To the records").click()
    expect(page.locator("table.records tbody tr")).to_have_count(2)
    settled(page)
    go(page, "Quantifies")
    expect(page.locator("step-editor .handle")).to_have_count(6)
    for old, new in {p: next(target.rglob(p.name)) for p in wanted}.items():
        assert new.read_bytes() == old.read_bytes()


def section(page: Any, title: str) -> Any:
    return page.locator("section").filter(has=page.get_by_role("heading", name=title))
