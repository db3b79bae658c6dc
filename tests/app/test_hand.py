"""What arrives from the server under a person's hand takes nothing out of it: presses, focus, words being typed."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from app.steps import decisions, expect, settled

STUDY = (
    'format = 1\nanalyte = "nitrite"\nreference_electrode = "Ag/AgCl, 3 M KCl"\n'
    '[electrodes.one]\nmaterial = "nickel"\narea = "0.07 cm^2"\n'
)
ROWS = "file,electrode,technique\n" + "".join(f"data/Ni-{n}_cv.dat,one,cyclic voltammogram\n" for n in (1, 2))


@pytest.fixture
def loose(tmp_path: Path) -> Path:
    """Two files whose columns cannot be told."""
    folder = tmp_path / "loose"
    (folder / "data").mkdir(parents=True)
    sweep = np.concatenate([np.linspace(0, 900, 60), np.linspace(900, 0, 60)])
    rows = "".join(f"{e:.1f} {1.5 + 0.001 * e:.4f} {0.2 * np.sin(i):.4f}\n" for i, e in enumerate(sweep))
    for number in (1, 2):
        (folder / "data" / f"Ni-{number}_cv.dat").write_text(rows, "utf-8")
    (folder / "study.toml").write_text(STUDY, "utf-8")
    (folder / "runs.csv").write_text(ROWS, "utf-8")
    return folder


@pytest.fixture
def demo(small_demo: Path, small_analysis: Any, tmp_path: Path) -> Path:
    folder = tmp_path / "demo"
    shutil.copytree(small_demo, folder)
    return folder


class Held:
    """Answers of the server to one address, held back until they are let go."""

    def __init__(self, page: Any, address: str) -> None:
        self.page, self.routes = page, []
        self.address = address
        page.route(address, lambda route: self.routes.append(route))

    def wait(self) -> None:
        """Until the page has asked."""
        while not self.routes:
            self.page.wait_for_timeout(20)

    def let_go(self, alter: Callable[[Any], Any] = lambda answer: answer) -> None:
        """The answer arrives, and the page has had all the time it takes to act on it."""
        self.wait()
        route = self.routes.pop(0)
        answer = route.fetch()
        self.page.evaluate(
            """() => {
              document.body.dataset.heard = "";
              for (const way of ["json", "text"]) {
                const own = Response.prototype[way];
                Response.prototype[way] = async function () {
                  const found = await own.call(this);
                  Response.prototype[way] = own;
                  setTimeout(() => { document.body.dataset.heard = "yes"; }, 100);
                  return found;
                };
              }
            }"""
        )
        route.fulfill(response=answer, body=json.dumps(alter(answer.json())))
        self.page.wait_for_selector("body[data-heard=yes]", state="attached")

    def end(self) -> None:
        self.page.unroute(self.address)


def over(page: Any, thing: Any) -> None:
    box = thing.bounding_box()
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)


def test_a_press_over_an_answer_counts_and_the_focus_stays(
    loose: Path, start_server: Callable[..., Any], open_page: Callable[..., Any]
) -> None:
    # The records that cannot be read yet have no pictures on the first page.
    page = open_page(start_server(loose), "/reading?file=data/Ni-1_cv.dat", expected="status of 400")
    panel = page.locator("[data-place=column]")
    row = page.locator("[data-place=lines] tr").nth(4)
    row.locator("td[data-column='1']").click()
    held = Held(page, "**/reading/try*")
    panel.get_by_label("potential").check()
    # A cell of the raw lines, pressed before the answer and let go after it.
    over(page, row.locator("td[data-column='3']"))
    page.mouse.down()
    held.let_go()
    page.mouse.up()
    expect(panel).to_contain_text("Column 3 is")
    # The number of a line, and the answer comes with a line more of words, which moves all below it.
    panel.get_by_label("current").check()
    over(page, row.locator("td.number"))
    page.mouse.down()
    held.let_go(lambda answer: answer | {"problem": "One more thing. " * 60})
    page.mouse.up()
    held.let_go()
    expect(page.locator("tr.first td.number")).to_have_text("5")
    # By keyboard, from one role to the next and back.
    for key in ("ArrowDown", "ArrowUp"):
        panel.locator("[name=role]:checked").focus()
        page.keyboard.press(key)
        chosen = panel.locator("[name=role]:focus").get_attribute("id")
        held.let_go()
        expect(panel.locator(f"#{chosen}")).to_be_focused()
    # Words that are being typed when an answer comes are not typed over.
    page.get_by_role("radio", name="this file alone").check()
    column = page.locator("#column-1")
    column.click()
    panel.locator("#other-unit").fill("kV")
    held.let_go()
    expect(panel.locator("#other-unit")).to_be_focused()
    expect(panel.locator("#other-unit")).to_have_value("kV")
    panel.locator("#other-unit").fill("mV")
    held.end()
    page.keyboard.press("Tab")
    expect(panel.get_by_label("mV", exact=True)).to_be_checked()


def test_a_field_pressed_while_the_one_before_changes_its_table_takes_the_words(
    loose: Path, start_server: Callable[..., Any], open_page: Callable[..., Any]
) -> None:
    page = open_page(start_server(loose), "/names")
    grid = page.locator("name-grid")
    cell = grid.get_by_label("Ni-1_cv.dat, Electrode")
    cell.fill("two")
    material = grid.get_by_label("one, Material")
    over(page, material)
    page.mouse.down()
    page.mouse.up()
    expect(grid.locator("[data-place=electrodes] tr")).to_have_count(2)
    expect(material).to_be_focused()
    page.keyboard.type("cobalt")
    expect(material).to_have_value("nickelcobalt")
    # The offer is taken though another cell changed by the same press.
    cell.fill("three")
    cell.press("Tab")
    grid.get_by_label("Ni-1_cv.dat, Solution").fill("buffer")
    # An answer does not type over what is being typed in a cell.
    held = Held(page, "**/names/try")
    grid.get_by_label("part 1 is").select_option("electrode")
    cell.fill("mine")
    held.let_go()
    expect(cell).to_be_focused()
    expect(cell).to_have_value("mine")
    held.end()


def test_an_addition_that_is_dragged_stays_in_the_hand(
    demo: Path, start_server: Callable[..., Any], open_page: Callable[..., Any]
) -> None:
    page = open_page(start_server(demo), "/quantifies", expected="WebSocket|ERR_")
    settled(page)
    editor = page.locator("step-editor")
    handles = editor.locator(".handle")
    expect(handles).to_have_count(6)
    renewed = "() => document.querySelector('step-editor').dispatchEvent(new Event('renewed'))"
    held = Held(page, "**/quantifies/additions*")
    # The answer has one addition less before the one in hand.
    handles.nth(2).scroll_into_view_if_needed()
    over(page, handles.nth(2))
    page.mouse.down()
    page.evaluate(renewed)
    held.let_go(lambda answer: answer | {"additions": answer["additions"][1:]})
    box = handles.nth(2).bounding_box()
    page.mouse.move(box["x"] + 20, box["y"] + 5)
    page.mouse.up()
    held.end()
    expect(page.locator("#said")).to_contain_text("The addition is moved")
    (moved,) = (d for d in decisions(demo) if d["kind"] == "move step")
    assert float(moved["to"].split()[0]) > float(moved["time"].split()[0]) + 1
    # Words that are being typed stay with their addition.
    expect(editor.locator(".ends input").nth(2)).to_have_value(moved["to"].split()[0])
    settled(page)
    held = Held(page, "**/quantifies/additions*")
    field = editor.locator(".ends input").nth(4)
    field.fill("333")
    page.evaluate(renewed)
    held.let_go(lambda answer: answer | {"additions": answer["additions"][1:]})
    expect(handles).to_have_count(5)
    expect(editor.locator(".ends input").nth(3)).to_be_focused()
    expect(editor.locator(".ends input").nth(3)).to_have_value("333")
    held.end()


def test_a_particle_that_is_pressed_is_the_one_that_is_taken_out(
    demo: Path, start_server: Callable[..., Any], open_page: Callable[..., Any]
) -> None:
    page = open_page(start_server(demo), "/made", expected="WebSocket|ERR_")
    settled(page)
    editor = page.locator("particle-editor")
    whole = editor.locator("path.particle:not(.cut)")
    expect(whole.first).to_be_visible()
    index = int(whole.nth(3).get_attribute("data-index"))
    place = editor.evaluate("(editor, index) => editor.shown.particles[index]", index)
    held = Held(page, "**/made/image*")
    whole.nth(3).scroll_into_view_if_needed()
    over(page, whole.nth(3))
    page.mouse.down()
    page.evaluate("() => document.querySelector('particle-editor').dispatchEvent(new Event('renewed'))")
    held.let_go(lambda answer: answer | {"particles": answer["particles"][::-1]})
    page.mouse.up()
    held.end()
    expect(page.locator("#said")).to_contain_text("The particle is taken out")
    (found,) = (d for d in decisions(demo) if d["kind"] == "exclude particle")
    assert (found["x"], found["y"]) == (
        pytest.approx(place["x"], abs=0.06),
        pytest.approx(place["y"], abs=0.06),
    )


def test_a_button_pressed_while_the_words_above_it_grow_is_pressed(
    demo: Path, start_server: Callable[..., Any], open_page: Callable[..., Any]
) -> None:
    page = open_page(start_server(demo), "/chooses", expected="WebSocket|ERR_")
    settled(page)
    held = Held(page, "**/chooses/try")
    page.locator("weigh-wants input[type=number][data-weight='0']").fill("3")
    keep = page.get_by_role("button", name="Keep in study.toml")
    keep.scroll_into_view_if_needed()
    over(page, keep)
    page.mouse.down()
    held.let_go(lambda answer: answer | {"explanation": ["One more thing. " * 100, *answer["explanation"]]})
    page.mouse.up()
    expect(page.locator("#said")).to_contain_text("Kept in study.toml")
    held.end()
    # A slider that is being moved is followed at once.
    slider = page.locator("weigh-wants input[type=range]").first
    slider.scroll_into_view_if_needed()
    box = slider.bounding_box()
    over(page, slider)
    page.mouse.down()
    page.mouse.move(box["x"] + 0.9 * box["width"], box["y"] + box["height"] / 2, steps=3)
    held = Held(page, "**/chooses/try")
    page.mouse.move(box["x"] + 0.2 * box["width"], box["y"] + box["height"] / 2, steps=3)
    held.let_go(lambda answer: answer | {"explanation": ["Followed."]})
    expect(page.locator("weigh-wants .told")).to_contain_text("Followed.")
    page.mouse.up()
    held.end()


def test_cells_of_a_grid_keep_the_focus_over_a_newer_page(
    demo: Path, start_server: Callable[..., Any], open_page: Callable[..., Any]
) -> None:
    page = open_page(start_server(demo), "/made", expected="WebSocket|ERR_")
    settled(page)
    grid = page.locator("electrode-grid")
    field = grid.locator("tbody input").nth(5)
    field.click()
    name = field.get_attribute("aria-label")
    page.evaluate(
        """() => {
          const grid = document.querySelector("electrode-grid"), start = JSON.parse(grid.dataset.start);
          start.rows.unshift({ electrode: "first of all", cells: {} });
          start.rows[1].cells[start.columns[0].key] = "newer";
          grid.dataset.start = JSON.stringify(start);
          grid.dispatchEvent(new Event("renewed"));
        }"""
    )
    expect(grid.locator("tbody th").first).to_have_text("first of all")
    expect(grid.get_by_label(name, exact=True)).to_be_focused()
    expect(grid.locator("tbody tr").nth(1).locator("input").first).to_have_value("newer")
