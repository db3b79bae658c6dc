"""Undo and redo of everything through the page, over a restart; nothing acknowledged is lost when the server is killed."""

from __future__ import annotations

import itertools
import json
import re
import shutil
import sys
import threading
import tomllib
from collections.abc import Callable
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest

from app.steps import decisions, expect, go, settled, until
from halfcell.study.history import FILES


@pytest.fixture
def study(small_demo: Path, small_analysis: Any, tmp_path: Path) -> Path:
    folder = tmp_path / "study"
    shutil.copytree(small_demo, folder)
    return folder


def state(folder: Path) -> dict[str, bytes | None]:
    """The bytes of what a person writes, and that nothing else lies beside it."""
    assert not [p.name for p in folder.glob(".*")]
    return {name: (folder / name).read_bytes() if (folder / name).exists() else None for name in FILES}


def paste(field: Any, text: str) -> None:
    field.evaluate(
        """(field, text) => {
          const data = new DataTransfer();
          data.setData("text/plain", text);
          field.dispatchEvent(new ClipboardEvent("paste", { clipboardData: data, bubbles: true, cancelable: true }));
        }""",
        text,
    )


def test_every_change_is_taken_back_by_keyboard_also_after_a_restart(
    study: Path, start_server: Callable[..., Any], open_page: Callable[..., Any]
) -> None:
    first = state(study)
    server = start_server(study)
    page = open_page(server, "/made", expected="WebSocket|ERR_|status of 403")
    settled(page)
    said, undo, redo = (
        page.locator(at) for at in ("#said", "take-back button >> nth=0", "take-back button >> nth=1")
    )
    expect(undo).to_be_disabled()

    # Two columns of two rows out of a spreadsheet; what is pasted in hand is taken back in hand.
    grid = page.locator("electrode-grid")
    expect(grid.locator("tbody th").nth(1)).to_be_visible()
    names = [row.split("\n")[0].strip() for row in grid.locator("tbody th").all_inner_texts()][:2]
    recipe = grid.get_by_label(f"{names[0]}, recipe")
    was = recipe.input_value()
    recipe.focus()
    paste(recipe, "dip 30 s\tB1\r\ndip 60 s\tB1\r\n")
    expect(grid.get_by_label(f"{names[1]}, batch")).to_have_value("B1")
    recipe.press("Control+z")
    expect(recipe).to_have_value(was)
    expect(grid.get_by_role("button", name="Save the changes")).to_be_disabled()
    paste(recipe, "dip 30 s\tB1\r\ndip 60 s\tB1\r\n")
    grid.get_by_role("button", name="Save the changes").click()
    expect(said).to_contain_text("4 changes saved")
    made = tomllib.loads((study / "study.toml").read_text("utf-8"))["electrodes"]
    assert [(made[n]["recipe"], made[n]["batch"]) for n in names] == [("dip 30 s", "B1"), ("dip 60 s", "B1")]
    told = rf"^Take back: recipe of {names[0]}.* dip 30 s; 3 further changes \(Ctrl\+Z\)$"
    expect(undo).to_have_attribute("title", re.compile(told))

    go(page, "Chooses")
    weight = page.locator("weigh-wants input[type=number][data-weight='0']")
    weight.fill("3")
    page.get_by_role("button", name="Keep in study.toml").click()
    expect(said).to_contain_text("Kept")
    expect(page.locator("take-back .next")).to_contain_text("weight of sensitivity per area 2 → 3")

    settled(page)
    go(page, "Quantifies")
    response = page.request.post(
        server.base + "/decide", headers={"origin": server.base},
        data={"decisions": [{"kind": "reject point", "electrode": "Ni-1", "file": first_additions(study), "concentration": "0.02 mmol/L", "why": "a bubble"}]},
    )  # fmt: skip
    assert response.ok, response.text()
    expect(undo).to_have_attribute("title", "Take back: point 0.02 mmol/L of Ni-1 left out (Ctrl+Z)")
    last = state(study)

    # In a field of text the keys belong to the text.
    field = page.get_by_label("Reason")
    field.fill("words")
    field.press("Control+z")
    assert state(study) == last
    page.locator("h1").click()
    for left in (2, 1, 0):
        page.keyboard.press("Control+z")
        expect(redo).to_be_enabled()
        until(lambda left=left: count(page, server, "undo") == left, what="undo")  # type: ignore[misc]
    assert state(study) == first
    expect(undo).to_be_disabled()
    for _ in range(3):  # fast: one after the other
        page.keyboard.press("Control+Shift+z")
    until(lambda: count(page, server, "redo") == 0, what="redo")
    assert state(study) == last

    server.process.kill()
    server.process.wait(30)
    again = start_server(study)
    page = open_page(again, "/chooses")
    for left in (2, 1, 0):
        page.keyboard.press("Control+z")
        until(lambda left=left: count(page, again, "undo") == left, what="undo after a restart")  # type: ignore[misc]
    assert state(study) == first


def count(page: Any, server: Any, key: str) -> int:
    return int(page.request.get(server.base + "/decided").json()[key])


def first_additions(study: Path) -> str:
    lines = (study / "runs.csv").read_text("utf-8").splitlines()
    return next(line.split(",")[0] for line in lines if ",additions," in line and ",Ni-1," in line)


def test_what_was_changed_by_hand_meanwhile_is_not_taken_back_and_can_be_passed_over(
    study: Path, start_server: Callable[..., Any], open_page: Callable[..., Any]
) -> None:
    server = start_server(study)
    page = open_page(server, "/chooses", expected="status of 409")
    settled(page)
    for i, value in ((1, "4"), (0, "3")):
        page.locator(f"weigh-wants input[type=number][data-weight='{i}']").fill(value)
        page.get_by_role("button", name="Keep in study.toml").click()
        until(lambda i=i, value=value: weights(study)[i] == float(value), what="the weight")  # type: ignore[misc]
    path = study / "study.toml"
    path.write_text(path.read_text("utf-8").replace("weight = 3.0", "weight = 3.5"), "utf-8")
    page.locator("h1").click()
    expect(page.locator("take-back .next")).to_contain_text("2 → 3")
    page.keyboard.press("Control+z")
    expect(page.locator("#said")).to_contain_text("is 3.5 now, no longer 3")
    assert weights(study)[:2] == [3.5, 4.0]
    page.get_by_role("button", name="Leave it so").click()
    expect(page.locator("take-back .next")).to_have_text("weight of limit of detection 2 → 4")
    page.keyboard.press("Control+z")
    expect(page.locator("#said")).to_contain_text("Taken back")
    assert weights(study)[0] == 3.5
    assert weights(study)[1] != 4.0


def weights(study: Path) -> list[float]:
    text = (study / "study.toml").read_text("utf-8")
    return [want["weight"] for want in tomllib.loads(text)["choice"]["wants"]]


def asking(server: Any) -> Callable[[str, Any], Any]:
    """Ask as a page does; None where no answer came."""
    address = urlsplit(server.url)
    key = parse_qs(address.query)["key"][0]
    headers = {
        "origin": server.base,
        "cookie": f"halfcell-{address.port}={key}",
        "content-type": "application/json",
    }

    def ask(path: str, body: Any) -> Any:
        line = HTTPConnection(str(address.hostname), address.port, timeout=60)
        try:
            line.request("POST", path, json.dumps(body), headers)
            answer = line.getresponse()
            return json.loads(answer.read()) | {"status": answer.status}
        except (OSError, HTTPException, ValueError):
            return None
        finally:
            line.close()

    return ask


def test_what_was_acknowledged_is_on_disk_when_the_server_is_killed_in_the_middle(
    study: Path, start_server: Callable[..., Any]
) -> None:
    server = start_server(study)
    ask = asking(server)
    image = next(p.name for p in sorted((study / "images").iterdir()))
    electrode = next(iter(tomllib.loads((study / "study.toml").read_text("utf-8"))["electrodes"]))
    kept: list[float] = []
    batches: list[str] = []

    def decide(hand: int) -> None:
        for i in itertools.count():
            x = hand * 1000.0 + i
            one = {"kind": "exclude particle", "file": f"images/{image}", "x": x, "y": 1.0}
            answer = ask("/decide", {"decisions": [one]})
            if answer is None:
                return
            assert answer["status"] == 200, answer
            kept.append(x)

    def type_in() -> None:
        for i in itertools.count():
            changes = [{"electrode": electrode, "key": "batch", "value": f"B{i}"}]
            answer = ask("/made/electrodes", {"changes": changes})
            if answer is None:
                return
            assert answer["status"] == 200, answer
            batches.append(f"B{i}")

    hands = [threading.Thread(target=decide, args=(n,)) for n in range(3)] + [
        threading.Thread(target=type_in)
    ]
    for hand in hands:
        hand.start()
    until(lambda: len(kept) >= 12 and len(batches) >= 3, seconds=120, what="a burst of decisions")
    server.process.kill()
    server.process.wait(30)
    for hand in hands:
        hand.join(120)
    found = [one["x"] for one in decisions(study)]
    assert set(kept) <= set(found)
    assert len(found) <= len(kept) + 3  # at most the one each hand had not heard of yet
    now = tomllib.loads((study / "study.toml").read_text("utf-8"))["electrodes"][electrode]["batch"]
    assert int(now[1:]) - int(batches[-1][1:]) in {0, 1}

    # The next server goes on from there, also where the killed one held a lock or had begun to write.
    ask = asking(start_server(study))
    answer = ask(
        "/decide",
        {"decisions": [{"kind": "exclude particle", "file": f"images/{image}", "x": 9999.0, "y": 1.0}]},
    )
    assert answer["status"] == 200, answer
    assert answer["undo"] >= min(200, len(kept) + len(batches) - 1)
    assert ask("/undo", {})["status"] == 200
    assert [one["x"] for one in decisions(study)] == found


@pytest.mark.skipif(sys.platform != "linux", reason="a limit on another process is set by a call of Linux")
def test_a_write_that_fails_is_told_and_the_page_keeps_what_was_typed(
    study: Path, start_server: Callable[..., Any], open_page: Callable[..., Any]
) -> None:
    import resource

    server = start_server(study)
    page = open_page(server, "/chooses", expected="status of [45]00")
    settled(page)
    first = state(study)
    weight = page.locator("weigh-wants input[type=number][data-weight='0']")
    weight.fill("3")
    ranking = page.locator("weigh-wants tbody")
    expect(ranking).to_contain_text("%")
    # As on a full disk: from now on the server can write no byte to a file.
    _, hard = resource.prlimit(server.process.pid, resource.RLIMIT_FSIZE)
    resource.prlimit(server.process.pid, resource.RLIMIT_FSIZE, (0, hard))
    keep = page.get_by_role("button", name="Keep in study.toml")
    keep.click()
    said = page.locator("#said.failed")
    expect(said).to_contain_text("free some space")
    expect(weight).to_have_value("3")
    expect(keep).to_be_enabled()
    assert state(study) == first
    go(page, "Made")
    grid = page.locator("electrode-grid")
    cell = grid.get_by_role("textbox").nth(2)
    cell.fill("dipped twice")
    grid.get_by_role("button", name="Save the changes").click()
    expect(said).to_contain_text("free some space")
    expect(cell).to_have_value("dipped twice")
    assert state(study) == first
    resource.prlimit(server.process.pid, resource.RLIMIT_FSIZE, (hard, hard))
    grid.get_by_role("button", name="Save the changes").click()
    expect(page.locator("#said")).to_contain_text("saved in study.toml")
    expect(said).to_have_count(0)
    assert "dipped twice" in (study / "study.toml").read_text("utf-8")
