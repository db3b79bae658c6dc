"""Files of another day, added to a study in a browser and through the server alone."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from app.steps import expect
from app.test_pages import client_of
from app.test_start import sweep
from halfcell.study.edit import StudyEdit
from halfcell.study.edit_readers import keep_reading
from halfcell.study.edit_runs import RunsEdit
from halfcell.study.intake import intake
from halfcell.study.regroup import Cell, Regrouping, regroup

READ = {"columns": {"potential": 1, "current": 3}, "units": {"potential": "mV", "current": "uA"}}


@pytest.fixture
def monday(tmp_path: Path) -> Path:
    """An answered study of two electrodes, whose exports were read and named by a person."""
    loose = tmp_path / "monday"
    loose.mkdir()
    for number in (1, 2):
        (loose / f"x{number} Ni{number} V 1mM 50mVs.dat").write_text(
            sweep(3 + 0.1 * number, bare=True), "utf-8"
        )
    study = intake(loose, tmp_path / "study").folder
    rows = list(RunsEdit(study).rows.values())
    files = [row["file"] for row in rows]
    keep_reading(study, files, files, READ)
    said: dict[str, tuple[str, ...]] = {
        "electrode": ("Ni1", "Ni2"),
        "solution": ("buffer", "buffer"),
        "technique": ("cyclic voltammogram",) * 2,
    }
    cells = [
        Cell(file=row["file"], column=column, was=row.get(column, ""), value=values[n])
        for n, row in enumerate(rows)
        for column, values in said.items()
    ]
    regroup(study, Regrouping(cells=tuple(cells)))
    edit = StudyEdit(study)
    for key, value in {"analyte": "nitrite", "reference_electrode": "Ag/AgCl, 3 M KCl"}.items():
        edit.set(key, value)
    edit.set("solutions.buffer.description", "0.1 mol/L phosphate buffer")
    for name in ("Ni1", "Ni2"):
        edit.set(("electrodes", name, "area"), "0.0707 cm^2")
    for name in list(edit.get("solutions")):
        if name != "buffer":
            edit.remove(("solutions", name))
    edit.save()
    return study


@pytest.fixture
def tuesday(tmp_path: Path, monday: Path) -> Path:
    """A new record of Ni2, one of a new electrode, one that the study has, and one under an old name."""
    loose = tmp_path / "tuesday"
    loose.mkdir()
    (loose / "x2 Ni2 V 2mM 50mVs.dat").write_text(sweep(6, bare=True), "utf-8")
    (loose / "x3 Ni3 V 1mM 50mVs.dat").write_text(sweep(3.3, bare=True), "utf-8")
    (loose / "copy.dat").write_bytes((monday / "data" / "x1 Ni1 V 1mM 50mVs.dat").read_bytes())
    (loose / "x1 Ni1 V 1mM 50mVs.dat").write_text(sweep(9, bare=True), "utf-8")
    return loose


def test_files_of_another_day(
    monday: Path, tuesday: Path, start_server: Callable[..., Any], open_page: Callable[..., Any]
) -> None:
    before = {name: (monday / name).read_bytes() for name in ("study.toml", "runs.csv")}
    server = start_server(monday)
    page = open_page(server, "/files", width=1280, height=800, expected="400")
    # Opened, chosen and sent by keyboard.
    summary = page.locator("add-files summary").filter(has=page.get_by_role("heading", name="Add files"))
    summary.focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("button", name="Choose a folder")).to_be_visible()
    page.locator("input[webkitdirectory]").set_input_files(tuesday)
    expect(page.locator("[data-count]")).to_contain_text("4 files")
    # A file dropped beside the area is taken as well, and left out again.
    dropped = page.evaluate_handle(
        "() => { const all = new DataTransfer(); all.items.add(new File(['1 2'], 'stray.txt')); return all; }"
    )
    page.dispatch_event("h1", "drop", {"dataTransfer": dropped})
    expect(page.locator("[data-count]")).to_contain_text("5 files")
    page.get_by_role("button", name="Leave stray.txt out").click()
    expect(page.locator("[data-count]")).to_contain_text("4 files")
    send = page.locator("form[data-form=drop]").get_by_role("button", name="Add to the study")
    send.focus()
    page.keyboard.press("Enter")
    refused = page.locator("form[data-form=drop] .wrong")
    expect(refused).to_contain_text("where 'data/x1 Ni1 V 1mM 50mVs.dat' with other content stands")
    assert {name: (monday / name).read_bytes() for name in before} == before
    page.get_by_label("A folder of their own below data (only").fill("second day")
    send.click()

    added = page.get_by_role("region", name="3 files added")
    expect(added).to_contain_text("New electrode: Ni3")
    expect(added).to_contain_text("1 was left, since the study has the content")
    expect(added).to_contain_text("the geometric area of each (Ni3)")
    expect(added).not_to_contain_text("analyte")
    # What was said of Monday's files goes for these: they are read, and all of one layout.
    layout = page.locator("section.layout")
    expect(layout).to_have_count(1)
    expect(layout).to_contain_text("5 files")
    expect(layout.locator("h2 .fresh")).to_have_text("3 of them new")
    rows = {
        row["file"].rpartition("/")[2]: row
        for row in RunsEdit(monday).rows.values()
        if "second day" in row["file"]
    }
    assert {name.split()[1]: row["electrode"] for name, row in rows.items()} == {
        f"Ni{n}": f"Ni{n}" for n in (1, 2, 3)
    }
    assert {row["solution"] for row in rows.values()} == {"buffer"}
    assert (monday / "data" / "second day" / "x1 Ni1 V 1mM 50mVs.dat").read_bytes() == (
        tuesday / "x1 Ni1 V 1mM 50mVs.dat"
    ).read_bytes()

    page.get_by_role("button", name="Take back: 3 files added (new: Ni3)").click()
    expect(page.locator("#said")).to_contain_text("the copied files stay in the folder, without a row")
    expect(page.get_by_role("heading", name="Not used")).to_be_visible()
    expect(added).to_have_count(0)
    assert {name: (monday / name).read_bytes() for name in before} == before
    page.get_by_role("button", name="Do again").click()
    expect(page.get_by_role("heading", name="Not used")).to_have_count(0)


def send(client: TestClient, *files: tuple[str, bytes], **fields: str) -> Any:
    return client.post("/files/drop", data=fields, files=[("files", file) for file in files])


def test_refusals_are_words_and_nothing_is_written(monday: Path, tmp_path: Path) -> None:
    new = sweep(4, bare=True).encode()
    before = {p: p.read_bytes() for p in monday.rglob("*") if p.is_file()}
    with client_of(monday) as client:
        for answer, words in (
            (client.post("/files/drop", data={"below": ""}), "Drop or choose files"),
            (send(client, ("../..", new)), "rename the file"),
            (send(client, ("a/x.csv", new), ("a/X.csv", new)), "rename one"),
            (send(client, ("x.csv", new), below="../.."), "no name for a folder"),
            (
                send(client, ("copy.dat", (monday / "data" / "x1 Ni1 V 1mM 50mVs.dat").read_bytes())),
                "nothing new",
            ),
            (client.post("/files/from", json={"source": "here", "below": ""}), "give the whole path"),
            (
                client.post("/files/from", json={"source": str(tmp_path / "none"), "below": ""}),
                "not a folder",
            ),
        ):
            assert answer.status_code == 400, answer.text
            assert words in answer.json()["problem"], answer.text
        assert client.get("/start/making").json()["of"] == 0
    assert {p: p.read_bytes() for p in monday.rglob("*") if p.is_file()} == before
    with client_of(None) as client:
        answer = send(client, ("x.csv", new))
        assert "No study is open" in answer.json()["problem"]


def test_from_a_folder_on_this_machine_and_what_is_asked_in_plain_words(monday: Path, tuesday: Path) -> None:
    with client_of(monday) as client:
        answer = client.post(
            "/files/from", json={"source": str(tuesday / "x3 Ni3 V 1mM 50mVs.dat"), "below": ""}
        )
        assert answer.json() == {"go": "/files?added=1"}
        page = client.get("/files?added=1").text
        assert "1 file added" in page
        assert "<li>Electrodes: the geometric area of each (Ni3).</li>" in page
        assert "study.toml" not in page.partition("Only you can know")[2].partition("</ul>")[0]
        # Without the question after what was added, and for another study, the page is that of all files.
        assert "1 file added" not in client.get("/files").text.partition("<main")[2]


def test_more_than_is_taken_at_once(monday: Path) -> None:
    with client_of(monday) as client:
        answer = client.post(
            "/files/drop",
            content=b"x",
            headers={"content-type": "multipart/form-data; boundary=b", "content-length": str(10**10)},
        )
    assert answer.status_code == 413
