"""The pages as the server sends them, without a browser."""

from __future__ import annotations

import html
import json
import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from halfcell.app.main import create_app

HOST = "127.0.0.1:9"
KEY = "key-of-the-test"


def client_of(folder: Path | None) -> TestClient:
    app = create_app(folder, hosts=frozenset({HOST}), token=KEY, cores=1)
    headers = {"accept": "text/html", "origin": f"http://{HOST}"}
    client = TestClient(app, base_url=f"http://{HOST}", headers=headers, raise_server_exceptions=False)
    client.cookies.set("halfcell-9", KEY)
    return client


@pytest.fixture(scope="module")
def analysed(small_demo: Path, small_analysis: Any) -> Iterator[TestClient]:
    client = client_of(small_demo)
    desk = client.app.app.state.desk  # type: ignore[attr-defined]
    desk.background.wait(300)
    assert desk.analysis is not None, desk.background.progress
    with client:
        yield client


@pytest.mark.parametrize(
    "path",
    [
        "/",
        "/made",
        "/responds",
        "/quantifies",
        "/confounds",
        "/chooses",
        "/report",
        "/record/0",
        "/report/page?part=made",
    ],
)
def test_each_place_answers(analysed: TestClient, path: str) -> None:
    answer = analysed.get(path)
    assert answer.status_code == 200, answer.text[:500]
    assert "could not be written" not in answer.text


def test_every_finding_leads_to_its_thread(analysed: TestClient, small_analysis: Any) -> None:
    for finding in list(small_analysis.findings)[::17]:
        answer = analysed.get("/why", params={"key": finding.key})
        assert answer.status_code == 200, finding.key
        for file in finding.recordings[:2]:
            assert file in answer.text


def test_every_figure_can_be_drawn_and_saved(analysed: TestClient, small_analysis: Any) -> None:
    kinds: dict[str, Any] = {exhibit.kind: exhibit for exhibit in small_analysis.exhibits}
    assert kinds
    for kind, exhibit in kinds.items():
        answer = analysed.get("/figure", params={"key": exhibit.key})
        assert answer.status_code == 200, (kind, answer.text[:300])
        assert answer.headers["content-type"].startswith("image/svg")
    saved = analysed.get(
        "/figure", params={"key": exhibit.key, "form": "png", "width": 80, "dpi": 100, "save": 1}
    )
    assert saved.content.startswith(b"\x89PNG")
    assert "attachment" in saved.headers["content-disposition"]


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("/record/99999", "There is no record number 100000"),
        ("/record/0/trace?start=5&end=2", "cannot be shown"),
        ("/figure?key=nothing", "There is no figure"),
        ("/why?key=nothing", "There is no finding"),
        ("/report/file/..%2F..%2Fstudy.toml", "nothing at this address"),
        ("/report/file/study.toml", "There is no such file"),
        ("/nowhere", "nothing at this address"),
        ("/static/../main.py", "nothing at this address"),
    ],
)
def test_a_wrong_address_is_answered_in_words(analysed: TestClient, path: str, words: str) -> None:
    answer = analysed.get(path)
    assert answer.status_code in {400, 404}
    assert words in answer.text.replace("&#39;", "'")
    assert "Traceback" not in answer.text


def test_a_weight_is_never_written_to_another_want_than_the_page_says(
    analysed: TestClient, small_demo: Path
) -> None:
    page = analysed.get("/chooses").text
    found = re.search(r'<weigh-wants[^>]*data-start="([^"]*)"', page)
    assert found
    start = json.loads(html.unescape(found.group(1)))
    seen = {"weights": [w["weight"] for w in start["wants"]], "level": start["level"]}
    seen["limits"] = {limit["number"]: limit["limit"] for limit in start["limits"]}
    asked = seen | {"weights": [9.0, *seen["weights"][1:]], "seen": seen}
    about = start["about"]
    assert len(set(about)) == len(about) == len(start["wants"]) + len(start["limits"])
    answer = analysed.post("/chooses/keep", json=asked | {"about": [about[1], about[0], *about[2:]]})
    assert answer.status_code == 400
    assert "Nothing was written" in answer.text


def test_hostile_names_are_escaped(small_demo: Path, tmp_path: Path) -> None:
    folder = tmp_path / "study"
    shutil.copytree(small_demo, folder)
    text = (folder / "study.toml").read_text("utf-8")
    hostile = "<script>alert(1)</script>\\\"'><img src=x onerror=alert(2)>"
    lines = [f'title = "{hostile}"' if line.startswith("title") else line for line in text.splitlines()]
    (folder / "study.toml").write_text("\n".join(lines), "utf-8")
    with client_of(folder) as client:
        page = client.get("/").text
        client.app.app.state.desk.background.stop()  # type: ignore[attr-defined]
        client.app.app.state.desk.background.wait(60)  # type: ignore[attr-defined]
    assert "&lt;script&gt;alert(1)" in page
    assert "<script>alert" not in page
    assert "<img src=x" not in page


def test_a_folder_with_mistakes_shows_them(tmp_path: Path) -> None:
    (tmp_path / "study.toml").write_text('format = 1\nanalyt = "nitrite"\n', "utf-8")
    (tmp_path / "runs.csv").write_text("file,electrode,technique\n", "utf-8")
    with client_of(tmp_path) as client:
        page = client.get("/").text
    assert "analyt" in page
    assert "reference_electrode" in page


def test_decisions_are_on_disk_when_the_answer_comes_and_can_be_taken_back(
    small_demo: Path, tmp_path: Path, ending: Callable[[TestClient], None]
) -> None:
    folder = tmp_path / "study"
    shutil.copytree(small_demo, folder)
    image = next(p for p in sorted((folder / "images").iterdir()))
    decision = {
        "kind": "exclude particle",
        "file": f"images/{image.name}",
        "x": 10.0,
        "y": 12.0,
        "why": "dust",
    }
    with client_of(folder) as client:
        answer = client.post("/decide", json={"decisions": [decision]})
        assert answer.status_code == 200, answer.text
        assert "dust" in (folder / "adjustments.toml").read_text("utf-8")
        assert "particle taken out" in answer.json()["undo_what"]
        assert client.post("/undo").json()["undo"] == 0
        assert not (folder / "adjustments.toml").exists()
        client.post("/redo")
        assert "dust" in (folder / "adjustments.toml").read_text("utf-8")
        wrong = client.post(
            "/decide",
            json={"decisions": [{"kind": "exclude particle", "file": "images/none.png", "x": "a", "y": 1}]},
        )
        assert wrong.status_code == 400
        ending(client)


@pytest.fixture
def ending() -> Callable[[TestClient], None]:
    def end(client: TestClient) -> None:
        background = client.app.app.state.desk.background  # type: ignore[attr-defined]
        background.stop()
        background.wait(120)

    return end


def test_the_samples_a_number_rests_on_are_shaded(analysed: TestClient, small_analysis: Any) -> None:
    sensitivity = next(
        f for f in small_analysis.findings if f.name == "sensitivity" and f.electrode == "Ni-1"
    )
    peak = next(f for f in small_analysis.findings if f.name == "peak_current" and f.electrode == "Ni-1")
    plateaus = analysed.get("/why", params={"key": sensitivity.key}).text
    windows = analysed.get("/why", params={"key": peak.key}).text
    assert "the samples used (plateau)" in plateaus
    assert "the samples used (baseline, peak)" in windows
    shown = next(
        e
        for e in small_analysis.exhibits
        if e.kind == "additions trace" and e.recordings == sensitivity.recordings[:1]
    )
    assert f"{float(shown.data['plateau_start'][1])!r}" in plateaus


def test_numbers_of_an_earlier_state_are_never_saved_as_those_of_now(
    small_demo: Path, small_analysis: Any, tmp_path: Path, ending: Callable[[TestClient], None]
) -> None:
    import json

    folder = tmp_path / "study"
    shutil.copytree(small_demo, folder)
    with client_of(folder) as client:
        desk = client.app.app.state.desk  # type: ignore[attr-defined]
        desk.current(300)
        text = (folder / "study.toml").read_text("utf-8")
        (folder / "study.toml").write_text(text.replace("weight = 2.0", "weight = 1.2"), "utf-8")
        assert client.post("/report/save", json={"parts": ["chooses"]}).status_code == 200
        saved = json.loads((folder / "report" / "findings.json").read_text("utf-8"))["findings"]
        ending(client)
    settings = [f["settings"] for f in saved if f["name"] == "desirability"]
    weights = [one["weights"] for one in settings if "weights" in one]
    assert weights
    assert all(w["sensitivity per area"] == 1.2 for w in weights)
