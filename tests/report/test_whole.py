"""The report of the small demo study, from raw files to the page."""

from __future__ import annotations

import csv
import io
import re
import shutil
from pathlib import Path
from typing import Any

import pytest

from halfcell.report.content import QUESTIONS
from halfcell.report.figures import DRAWINGS
from halfcell.report.html import html_report
from halfcell.report.methods_text import methods_used
from halfcell.report.thread import thread

SCREENS = Path(__file__).parents[2] / "build" / "screens"


@pytest.fixture(scope="module")
def made(small_analysis: Any, common_root: Path) -> Any:
    from halfcell.cache import Cache

    return html_report(small_analysis, figures=30, cores=1, cache=Cache(common_root / "cache"))


def test_nothing_of_it_fails(made):
    assert made.problems == ()
    assert "Could not be drawn" not in made.html
    assert "could not be written" not in made.html


def test_the_choice_comes_first_and_every_question_is_answered(made):
    places = re.findall(r'<span class="place">([^<]+)</span>', made.html)
    assert places[0] == "Chooses"
    assert set(QUESTIONS) <= set(places)
    assert places[-3:] == ["Methods", "Cautions", "Appendix"]


def test_invented_data_are_said_at_the_top(made):
    assert made.html.index("are invented") < made.html.index('<nav aria-label="Contents">')


def test_it_is_small_enough_to_send(made):
    assert len(made.html.encode()) < 12_000_000


def test_every_exhibit_has_a_drawing(small_analysis):
    assert {e.kind for e in small_analysis.exhibits if e.kind.replace(" ", "_") not in set(DRAWINGS)} == set()
    keys = [(e.kind, e.key) for e in small_analysis.exhibits]
    assert len(keys) == len(set(keys))


def test_every_method_that_was_used_is_told_with_its_source(small_analysis, made):
    from halfcell.pipeline.methods import METHODS

    for used in methods_used(small_analysis):
        assert used.name in METHODS
        assert used.source


def test_every_finding_has_its_own_address_and_a_thread_to_its_files(small_analysis):
    keys = [f.key for f in small_analysis.findings]
    assert len(keys) == len(set(keys)), sorted({k for k in keys if keys.count(k) > 1})
    first = {f.name: f for f in reversed(small_analysis.findings.rows)}
    for finding in first.values():
        said = {s.title: dict(s.lines) for s in thread(small_analysis, finding)}
        assert said["Method"]["formula"], finding.name
        for file in finding.recordings:
            assert len(said[f"Recording {file}"]["sha256"]) == 64


def test_a_value_without_an_uncertainty_says_why(small_analysis):
    silent = {
        f.name
        for f in small_analysis.findings
        if not f.text and f.standard_uncertainty != f.standard_uncertainty and not f.notes
    }
    assert silent == set()


def test_the_table_can_be_read_back(small_analysis):
    rows = list(csv.DictReader(io.StringIO(small_analysis.findings.csv())))
    assert len(rows) == len(small_analysis.findings)


@pytest.mark.parametrize(("width", "scheme"), [(1440, "light"), (1280, "dark"), (390, "light")])
def test_it_stands_in_a_browser_without_a_network(made, tmp_path, width, scheme):
    path = shutil.which("chromium") or shutil.which("chromium-browser")
    if path is None:
        pytest.skip("Chromium is not installed (tools/ensure_chromium.sh installs it)")
    api = pytest.importorskip("playwright.sync_api")
    file = tmp_path / "report.html"
    file.write_text(made.html, "utf-8")
    faults: list[str] = []
    with api.sync_playwright() as play:
        browser = play.chromium.launch(
            executable_path=path, args=["--no-sandbox", "--disable-gpu", "--no-first-run"]
        )
        page = browser.new_page(viewport={"width": width, "height": 900}, color_scheme=scheme)
        page.on("console", lambda m: faults.append(m.text))
        page.on("request", lambda r: None if r.url.startswith(("file:", "data:")) else faults.append(r.url))
        page.goto(file.as_uri())
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        figure = page.locator("figure.drawn svg").first.bounding_box()
        assert figure["width"] >= min(300, width - 80)
        SCREENS.mkdir(parents=True, exist_ok=True)
        page.screenshot(path=SCREENS / f"report-{width}-{scheme}.png")
        browser.close()
    assert faults == []
