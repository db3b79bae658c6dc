"""Figures copied and saved at a stated size, and numbers that tell where they came from."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from app.steps import expect, settled
from halfcell.app.routes.report import Figures, figures


def test_a_figure_is_copied_and_saved_at_the_size_asked_for(
    small_demo: Path, small_analysis: Any, start_server: Callable[..., Any], open_page: Callable[..., Any]
) -> None:
    server = start_server(small_demo)
    page = open_page(server, "/chooses")
    settled(page)
    page.context.grant_permissions(["clipboard-read", "clipboard-write"], origin=server.base)
    page.get_by_label("wide / mm").fill("50")
    page.get_by_label("dots an inch").fill("100")
    page.get_by_label("dots an inch").press("Tab")
    figure = page.locator("figure:visible").first
    address = figure.get_by_role("link", name="PNG").get_attribute("href")
    assert "width=50" in address
    assert "dpi=100" in address
    answer = page.request.get(address if address.startswith("http") else server.base + address)
    # The width stands in the file's first chunk (PNG specification, IHDR): 50 mm at 100 an inch are 197 dots.
    assert abs(int.from_bytes(answer.body()[16:20], "big") - 197) <= 1
    figure.scroll_into_view_if_needed()
    figure.get_by_role("button", name="Copy").click()
    expect(page.locator("#said")).to_contain_text("on the clipboard")
    page.reload()
    expect(page.get_by_label("wide / mm")).to_have_value("50")

    number = page.locator("table.copyable a.number:visible").first
    shown = number.inner_text()
    number.click()
    expect(page.locator(".big")).to_contain_text(shown)
    expect(page.get_by_role("heading", name="The records it rests on")).to_be_visible()


def test_every_figure_is_written_into_the_report(small_analysis: Any, tmp_path: Path) -> None:
    study = replace(small_analysis.study, folder=tmp_path)
    some = tuple(e for e in small_analysis.exhibits if e.kind == "calibration")[:2]
    analysis = replace(small_analysis, study=study, exhibits=some)
    desk = SimpleNamespace(current=lambda: analysis)
    request: Any = SimpleNamespace(app=SimpleNamespace(state=SimpleNamespace(desk=desk)))
    told = figures(request, Figures(form="pdf", width=85, dpi=300))
    assert told["count"] == 2
    assert told["problems"] == []
    written = sorted(Path(told["folder"]).iterdir())
    assert len(written) == 2
    assert all(path.read_bytes().startswith(b"%PDF") for path in written)
