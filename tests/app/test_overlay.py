"""Voltammograms over each other stay those of the study while the page is open."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from app.steps import expect, settled
from halfcell.app.traces import recording_of
from halfcell.study import open_study

DRAWN = "view => view.querySelector('.chart').data.map(t => ({name: t.name, top: Math.max(...t.y)}))"


def test_the_curves_follow_rows_that_move_and_files_that_are_replaced(
    small_demo: Path,
    small_analysis: Any,
    tmp_path: Path,
    start_server: Callable[..., Any],
    open_page: Callable[..., Any],
) -> None:
    folder = tmp_path / "study"
    shutil.copytree(small_demo, folder)
    page = open_page(start_server(folder), "/responds", expected="status of 400")
    settled(page)
    view = page.locator("overlay-view")
    expect(view.locator(".chart .main-svg").first).to_be_visible()
    view.locator("[data-cycle]").fill("0")
    view.locator("[data-cycle]").press("Tab")
    unticked = view.get_by_role("checkbox", name="copper")
    unticked.uncheck()

    # Every row changes its number; the first file is put in place of another.
    runs = folder / "runs.csv"
    head, *rows = runs.read_text("utf-8").splitlines()
    runs.write_text("\n".join([head, *reversed(rows)]) + "\n", "utf-8")
    study = open_study(folder)
    nickel = [
        run for run in study.runs
        if run.technique == "cyclic voltammogram" and run.electrode.startswith("Ni") and run.concentration
    ]  # fmt: skip
    shutil.copyfile(folder / nickel[0].file, folder / nickel[-1].file)
    settled(page)

    def wrong() -> list[str]:
        study = open_study(folder)
        tops = {
            f"{run.electrode}, {run.solution}, {run.concentration:.4g} mM, {run.scan_rate * 1e3:.4g} mV/s": recording_of(study, run).current.max() * 1e6
            for run in study.runs if run.technique == "cyclic voltammogram" and run.concentration
        }  # fmt: skip
        drawn = {d["name"]: d["top"] for d in view.evaluate(DRAWN)}
        known = [name for name in drawn if name in tops]
        return [
            name
            for name in known or ["none drawn"]
            if name not in tops or not np.isclose(drawn[name], tops[name], rtol=1e-6)
        ]

    expect(view.locator("[data-count]")).to_contain_text("records")
    for _ in range(60):
        if not wrong():
            break
        page.wait_for_timeout(250)
    assert not wrong()
    expect(unticked).not_to_be_checked()
