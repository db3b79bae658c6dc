"""Every place, light and dark: no serious finding of the accessibility checker, nothing clipped, a picture kept."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from app.steps import expect, settled, until

PICTURES = Path(__file__).parents[2] / "build" / "screens"
AXE = Path(__file__).parents[2] / "node_modules" / "axe-core" / "axe.min.js"
DRAWN = "[...document.images].every(i => i.complete || i.getBoundingClientRect().top > innerHeight)"
PLACES = {
    "home": "/",
    "made": "/made",
    "responds": "/responds",
    "quantifies": "/quantifies",
    "confounds": "/confounds",
    "chooses": "/chooses",
    "report": "/report",
    "record": "/record/3",
    "start": "/start",
    "files": "/files",
    "reading": "/reading?file=data/Cu-1_cv_1mM_50mVs.csv",
    "names": "/names",
    "questions": "/questions",
}


@pytest.fixture(scope="module")
def server(small_demo: Path, small_analysis: Any, start_server: Callable[..., Any]) -> Any:
    return start_server(small_demo)


def ready(page: Any, place: str) -> None:
    """Wait until what is drawn by scripts is drawn."""
    settled(page)
    if place in {"responds", "quantifies", "record"}:
        for chart in page.locator(".chart, trace-view").all():
            expect(chart.locator(".main-svg").first).to_be_visible()
    if place == "made":
        expect(page.locator("path.particle").first).to_be_visible()
        expect(page.locator("electrode-grid tbody tr")).to_have_count(9)
    if place == "reading":
        expect(page.locator("[data-place=lines] tr.first")).to_be_visible()
    if place == "names":
        expect(page.locator("[data-place=rows] tr").first).to_be_visible()
    if place == "home":
        until(lambda: page.evaluate(DRAWN), what="the thumbnails in view")
    if place == "chooses":
        expect(page.locator("weigh-wants tbody")).to_contain_text("%")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_serious_finding_of_the_accessibility_checker(server: Any, browser: Any, scheme: str) -> None:
    if not AXE.is_file():
        pytest.skip("axe-core is not installed (bash tools/check_scripts.sh installs it)")
    # The checker is put into the page from outside, which the page's own policy forbids.
    context = browser.new_context(
        color_scheme=scheme, viewport={"width": 1280, "height": 800}, bypass_csp=True, reduced_motion="reduce"
    )
    try:
        context.add_init_script(path=AXE)
        page = context.new_page()
        page.set_default_timeout(60_000)
        page.goto(server.url)
        found: list[str] = []
        for place, path in PLACES.items():
            page.goto(server.base + path)
            ready(page, place)
            page.evaluate(
                "document.querySelectorAll('details').forEach((d, i) => { if (i < 3) d.open = true; })"
            )
            answer = page.evaluate("axe.run(document, { resultTypes: ['violations'] })")
            found += [
                f"{place}: {v['impact']} {v['id']}: {v['help']}: {node['target']} {node['failureSummary'][:160]}"
                for v in answer["violations"]
                if v["impact"] in {"serious", "critical"}
                for node in v["nodes"][:3]
            ]
        assert not found, "\n".join(found)
    finally:
        context.close()


@pytest.mark.parametrize(("width", "height"), [(1440, 900), (1280, 800)])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_nothing_is_clipped_and_a_picture_is_kept(
    server: Any, open_page: Callable[..., Any], scheme: str, width: int, height: int
) -> None:
    page = open_page(server, "/", scheme=scheme, width=width, height=height)
    PICTURES.mkdir(parents=True, exist_ok=True)
    for place, path in PLACES.items():
        page.goto(server.base + path)
        ready(page, place)
        wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        assert wide <= 0, f"{place} is {wide} pixels wider than a window of {width}"
        page.screenshot(path=PICTURES / f"{place}-{width}-{scheme}.png")
        assert (PICTURES / f"{place}-{width}-{scheme}.png").stat().st_size > 5000
