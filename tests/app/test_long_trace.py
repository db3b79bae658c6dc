"""A long record: thinned with its extremes kept, and shown in full where a person zooms in."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from app.steps import expect, until
from halfcell.app.traces import packed, thinned

SAMPLES = 60_000
RANGE = "e => e._fullLayout.xaxis.range"
STUDY = """format = 1
analyte = "nitrite"
reference_electrode = "Ag/AgCl, 3 M KCl"
group_by = "material"

[solutions.buffer]
description = "phosphate buffer"

[electrodes.Ni-1]
material = "nickel"
area = "0.0707 cm^2"
"""


@pytest.fixture
def study(tmp_path: Path) -> Path:
    folder = tmp_path / "study"
    (folder / "data").mkdir(parents=True)
    (folder / "study.toml").write_text(STUDY, "utf-8")
    head = "file,electrode,technique,solution,concentration,step_potential\n"
    row = "data/long.csv,Ni-1,potential step,buffer,0 mol/L,0.5 V\n"
    (folder / "runs.csv").write_text(head + row, "utf-8")
    time = np.arange(SAMPLES) * 0.01
    current = 1e-6 * (1 + np.sin(time / 7) + 0.02 * np.random.default_rng(3).standard_normal(SAMPLES))
    current[41_234] = 9e-6
    table = "\n".join(f"{t:.2f},{i:.5e}" for t, i in zip(time, current, strict=True))
    (folder / "data" / "long.csv").write_text(f"Time / s,Current / A\n{table}\n", "utf-8")
    return folder


def test_where_a_person_zooms_in_the_samples_are_shown_in_full(
    study: Path, start_server: Callable[..., Any], open_page: Callable[..., Any]
) -> None:
    page = open_page(start_server(study), "/record/0")
    trace = page.locator("trace-view")
    area = trace.locator(".nsewdrag")
    expect(area).to_be_visible()
    assert 1000 < int(trace.get_attribute("data-points")) < 10_000
    box = area.bounding_box()
    page.mouse.move(box["x"] + 0.5 * box["width"], box["y"] + 0.1 * box["height"])
    page.mouse.down()
    for share in (0.52, 0.55):
        page.mouse.move(box["x"] + share * box["width"], box["y"] + 0.9 * box["height"])
    page.mouse.up()
    page.wait_for_selector("trace-view[data-samples]", timeout=60_000)
    start, end = map(int, trace.get_attribute("data-samples").split())
    assert 0.45 * SAMPLES < start < end < 0.6 * SAMPLES
    assert len(trace.evaluate("e => e.data[0].x")) == end - start

    # A change elsewhere leaves what is zoomed into; a file put in place of this one is drawn anew.
    seen, edition = trace.evaluate(RANGE), page.locator("body").get_attribute("data-edition")
    path = study / "study.toml"
    path.write_text(
        path.read_text("utf-8").replace("format = 1", 'format = 1\ntitle = "Another title"'), "utf-8"
    )
    expect(page.locator("body")).not_to_have_attribute("data-edition", edition)
    expect(page).to_have_title(re.compile("Another title"))
    assert trace.evaluate(RANGE) == seen
    assert trace.get_attribute("data-samples") == f"{start} {end}"
    data = study / "data" / "long.csv"
    data.write_text(data.read_text("utf-8").replace("9.00000e-06", "1.90000e-05"), "utf-8")
    until(lambda: trace.evaluate("e => Math.max(...e.data[0].y)") > 18.9, what="the new trace")


@pytest.mark.parametrize("points", [100, 4000])
def test_thinning_keeps_every_extreme_and_the_ends(points: int) -> None:
    rng = np.random.default_rng(5)
    x = np.concatenate([np.linspace(0, 1, 50_000), np.linspace(1, 0, 50_000)])
    y = rng.standard_normal(100_000)
    y[[17, 70_001]] = 50.0, -50.0
    index = thinned(x, y, points)
    assert {0, 17, 70_001, 99_999} <= set(index.tolist())
    assert x[index].max() == x.max()
    assert len(index) <= 2 * points + 2
    assert len(packed(x, y, index)) == 16 * len(index)
