"""From loose files to a study in a browser: dropped, one layout put right by pointing, names sorted, questions answered."""

from __future__ import annotations

import csv
import json
import os
import subprocess
import sys
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from app.steps import PATIENT, expect, settled

ANSWERS = {"analyte": "nitrite", "reference_electrode": "Ag/AgCl, 3 M KCl"}


def sweep(height: float, *, bare: bool) -> str:
    """A voltammogram without time; ``bare`` ones have no headings, and their second column is a temperature."""
    potential = np.concatenate([np.linspace(0, 900, 200), np.linspace(900, 0, 200)])
    current = 0.4 * np.sign(np.gradient(potential)) + height * np.exp(-(((potential - 600) / 60) ** 2))
    noise = np.random.default_rng(7).normal(scale=0.002, size=(2, potential.size))
    rows = zip(potential, current, noise[0], noise[1], strict=True)
    if bare:
        return "".join(f"{e:.2f} {20 + a:.4f} {i + b:.5f}\n" for e, i, a, b in rows)
    return "E/mV;i/uA\n" + "".join(f"{e:.2f};{i + b:.5f}\n" for e, i, _, b in rows)


@pytest.fixture
def loose(tmp_path: Path) -> Path:
    """Six voltammograms of two metals, three of which cannot be understood, and things that are no records."""
    folder = tmp_path / "loose"
    for metal, bare in (("Ni", True), ("Cu", False)):
        below = folder / metal
        below.mkdir(parents=True)
        for number in (1, 2, 3):
            height, ending = (3 if bare else 1.5) + 0.1 * number, "dat" if bare else "csv"
            file = below / f"{metal}{number} V 1mM 50mVs.{ending}"
            file.write_text(sweep(height, bare=bare), "utf-8")
    (folder / "Cu" / "empty.csv").write_text("", "utf-8")
    (folder / "Cu" / "sheet.xlsx").write_bytes(b"PK\x03\x04 no sheet at all")
    return folder


def test_from_dropped_files_to_the_numbers_of_the_command_line(
    loose: Path,
    start_server: Callable[..., Any],
    open_page: Callable[..., Any],
    tmp_path: Path,
    common_root: Path,
) -> None:
    server = start_server()
    page = open_page(server, width=1280, height=800)
    target = tmp_path / "made"
    drop(page, loose, target)
    point(page, target)
    sort_names(page, target)
    answer(page)
    expect(page.locator("table.records tbody tr")).to_have_count(6)
    settled(page)
    for path in loose.rglob("*.*"):
        assert next(target.rglob(path.name)).read_bytes() == path.read_bytes()

    environment = os.environ | {"HALFCELL_CACHE": str(common_root / "cache")}
    told = subprocess.run(
        [sys.executable, "-m", "halfcell", "analyze", str(target), "--json"],
        env=environment, stdout=subprocess.PIPE, check=True,
    ).stdout  # fmt: skip
    findings = json.loads(told)["findings"]
    peaks = {f["electrode"]: f["value"] for f in findings if f["name"] == "peak_current"}
    assert set(peaks) == {f"{m}{n}" for m in ("Ni", "Cu") for n in (1, 2, 3)}
    # The peaks that were put in, in the unit that was pointed at.
    assert peaks["Ni2"] == pytest.approx(3.2, rel=0.05)
    assert peaks["Cu2"] == pytest.approx(1.7, rel=0.05)
    page.goto(f"{server.base}/report")
    page.get_by_role("button", name="Save in the study folder").click()
    expect(page.locator("[data-saved]")).to_contain_text("Saved in", timeout=4 * PATIENT)
    saved = json.loads((target / "report" / "findings.json").read_text("utf-8"))
    assert saved["findings"] == findings


def drop(page: Any, loose: Path, target: Path) -> None:
    """The folder is chosen, its files are listed with what they seem to be, and the study is made."""
    page.locator("input[webkitdirectory]").set_input_files(loose)
    expect(page.locator("[data-count]")).to_contain_text("8 files")
    listed = page.get_by_role("region", name="The files to take in")
    expect(listed.get_by_role("row", name="sheet.xlsx")).to_contain_text("save its sheets as CSV")
    expect(listed.get_by_role("row", name="empty.csv")).to_contain_text("empty")
    # One more is dropped from elsewhere, and left out again.
    dropped = page.evaluate_handle(
        "() => { const all = new DataTransfer(); all.items.add(new File(['1 2'], 'stray.txt')); return all; }"
    )
    page.dispatch_event("[data-drop]", "drop", {"dataTransfer": dropped})
    expect(page.locator("[data-count]")).to_contain_text("9 files")
    page.get_by_role("button", name="Leave stray.txt out").click()
    expect(page.locator("[data-count]")).to_contain_text("8 files")
    page.locator("#drop-folder").fill(str(target))
    page.locator("form[data-form=drop]").get_by_role("button", name="Make the study").click()
    expect(page.get_by_role("heading", level=1, name="Are the files read rightly?")).to_be_visible()
    expect(page.locator("main")).to_contain_text("3 files cannot be understood without you")
    expect(page.locator("main")).to_contain_text("A spreadsheet is no raw record")


def point(page: Any, target: Path) -> None:
    """Columns are said by pointing at the raw lines, by mouse and by keyboard; the siblings follow."""
    page.get_by_role("link", name="Say what the columns are").click()
    told, panel = page.locator("[data-place=told]"), page.locator("[data-place=column]")
    expect(told).to_contain_text("Not yet")
    row = page.locator("[data-place=lines] tr").nth(4)
    row.locator("td[data-column='1']").click()
    expect(panel).to_contain_text("Column 1 is")
    panel.get_by_label("potential").check()
    panel.get_by_label("mV", exact=True).check()
    # The temperature is taken for the current: the trace and its range show that it is none.
    row.locator("td[data-column='2']").click()
    panel.get_by_label("current").check()
    panel.get_by_label("µA", exact=True).check()
    expect(told).to_contain_text("current 19.99 to 20 µA")
    # Put right by keyboard.
    page.locator("[data-place=lines] td[tabindex='0']").focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    expect(panel).to_contain_text("Column 3 is")
    panel.get_by_label("current").check()
    panel.get_by_label("µA", exact=True).check()
    expect(told).to_contain_text("400 rows are read: potential 0 to 0.9 V, current −0.4")
    expect(told).to_contain_text("So are its 2 siblings")
    expect(page.locator("[data-place=picture] img")).to_be_visible()
    page.get_by_role("button", name="Keep for 3 files").click()
    expect(page.get_by_role("heading", level=1, name="Are the files read rightly?")).to_be_visible()
    expect(page.locator("main")).not_to_contain_text("without you")
    (reader,) = tomllib.loads((target / "study.toml").read_text("utf-8"))["readers"].values()
    assert (reader["columns"]["potential"], reader["columns"]["current"]) == (1, 3)
    assert reader["units"] == {"potential": "mV", "current": "uA"}


def sort_names(page: Any, target: Path) -> None:
    """What a part of the names is, is said once for all; a cell that is edited offers the same for its like."""
    page.get_by_role("link", name="On to the names").click()
    grid = page.locator("name-grid")
    expect(grid.locator("[data-place=rows] tr")).to_have_count(6)
    row = grid.locator("[data-place=rows] tr").filter(has_text="Ni2")
    electrode = row.get_by_label("Electrode")
    expect(electrode).not_to_have_value("Ni2")
    grid.get_by_label("part 1 is").select_option("")
    grid.get_by_label("part 2 is").select_option("electrode")
    grid.get_by_label("part 3 is").select_option("")
    expect(electrode).to_have_value("Ni2")
    expect(grid.locator("[data-place=electrodes] tr")).to_have_count(6)
    row.get_by_label("Solution").fill("buffer")
    row.get_by_label("Solution").press("Tab")
    grid.get_by_role("button", name="Change the 5 others too").click()
    grid.get_by_role("button", name="Keep and go on").click()
    expect(page.get_by_role("heading", level=1, name="What is missing or wrong")).to_be_visible()
    with (target / "runs.csv").open(encoding="utf-8", newline="") as source:
        rows = {r["file"].rsplit("/", 1)[-1]: r for r in csv.DictReader(source)}
    assert {r["solution"] for r in rows.values()} == {"buffer"}
    assert {r["scan_rate"] for r in rows.values()} == {"50 mV/s"}
    assert rows["Ni2 V 1mM 50mVs.dat"]["electrode"] == "Ni2"
    electrodes = tomllib.loads((target / "study.toml").read_text("utf-8"))["electrodes"]
    metals = {"Ni": "nickel", "Cu": "copper"}
    assert {n: e["material"] for n, e in electrodes.items()} == {
        f"{short}{n}": name for short, name in metals.items() for n in (1, 2, 3)
    }


def answer(page: Any) -> None:
    """What only a person knows; alike questions are answered at once."""
    area = section(page, "How large is each electrode?")
    area.get_by_role("textbox").first.fill("0.0707 cm^2")
    area.get_by_role("button", name="Fill in all 6").click()
    solution = section(page, "What is each solution?")
    for field in solution.get_by_role("textbox").all():
        field.fill("0.1 mol/L phosphate buffer")
    for key, words in ANSWERS.items():
        page.locator(f"[data-key='{key}']").fill(words)
    page.get_by_role("button", name="Save the answers").click()
    expect(page.get_by_role("heading", level=1, name="Nothing is left to answer")).to_be_visible()
    page.get_by_role("link", name="To the records").click()


def section(page: Any, title: str) -> Any:
    return page.locator("section").filter(has=page.get_by_role("heading", name=title))
