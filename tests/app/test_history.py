"""Everything that is written through the app is a step that can be taken back; what the disk refuses is told."""

from __future__ import annotations

import ast
import shutil
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from starlette.testclient import TestClient

from app.test_pages import client_of
from app.test_reading import folder as folder_of_reading
from halfcell.study.history import FILES

folder = folder_of_reading
"""The fixture."""
ROUTES = Path(__file__).parents[2] / "src" / "halfcell" / "app" / "routes"

WRITING = {"answer", "change", "regroup", "keep_reading", "reguess"}
WRITING |= {"save", "write_text", "write_bytes", "write_atomically", "unlink", "rename"}
"""Calls that write in a study folder, by their last name."""
READING = {
    "files": ["data/run2.dat"],
    "columns": {"potential": 1, "current": 2},
    "units": {"potential": "mV", "current": "uA"},
}
DECISION = {"kind": "use cycle", "file": "data/run1.dat", "cycle": 1, "why": "settled"}


@pytest.fixture(autouse=True)
def _nothing_is_analysed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("halfcell.app.jobs.Background.start", lambda *_: None)


def state(study: Path) -> dict[str, bytes | None]:
    return {name: (study / name).read_bytes() if (study / name).exists() else None for name in FILES}


def post(client: TestClient, path: str, **body: Any) -> dict[str, Any]:
    answer = client.post(path, json=body)
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def test_each_kind_of_change_is_one_step(folder: Path) -> None:
    (folder / "runs.csv").write_text(
        (folder / "runs.csv").read_text("utf-8") + "image.png,Ni-1,micrograph,,\n", "utf-8"
    )
    Image.new("L", (64, 64)).save(folder / "image.png")
    states = [state(folder)]
    changes = (
        ("/reading/keep?file=data/run1.dat", READING, "how run*.dat is read"),
        ("/made/electrodes", {"changes": [{"electrode": "Ni-1", "key": "batch", "value": "B1", "was": ""}]}, "batch of Ni-1: B1"),
        ("/made/scale", {"file": "image.png", "scale": "1.5 nm"}, "scale of image.png empty → 1.5 nm"),
        ("/decide", {"decisions": [DECISION]}, "cycle 1 of run1.dat used"),
        ("/decide/without", {"without": [{"kind": "use cycle"}]}, "cycle 1 of run1.dat used: withdrawn"),
        ("/start/answer", {"answers": [{"key": "title", "value": "A title"}, {"row": 2, "column": "scan_rate", "value": "60 mV/s"}]}, "title: A title; scan rate of run1.dat 50 mV/s → 60 mV/s"),
    )  # fmt: skip
    with client_of(folder) as client:
        for number, (path, body, words) in enumerate(changes, 1):
            post(client, path, **body)
            told = client.get("/decided").json()
            assert (told["undo"], told["undo_what"]) == (number, words)
            states.append(state(folder))
    with client_of(folder) as client:  # another server
        for before in reversed(states[:-1]):
            post(client, "/undo")
            assert state(folder) == before
        for after in states[1:]:
            post(client, "/redo")
            assert state(folder) == after


def test_a_copy_of_a_study_has_no_history_of_its_own(folder: Path, tmp_path_factory: Any) -> None:
    copy = tmp_path_factory.mktemp("copy") / "study"
    with client_of(folder) as client:
        post(client, "/decide", decisions=[DECISION])
        shutil.copytree(folder, copy)
        post(client, "/start/open", folder=str(copy))
        assert client.get("/decided").json()["undo"] == 0
        answer = client.post("/undo")
        assert answer.status_code == 400
        assert "nothing to take back" in answer.json()["problem"]


def test_a_cell_that_others_changed_comes_back_in_both_versions(folder: Path) -> None:
    path = folder / "study.toml"
    path.write_text(path.read_text("utf-8").replace('material = "nickel"', 'material = "copper"'), "utf-8")
    before = state(folder)
    changes = [
        {"electrode": "Ni-1", "key": "material", "value": "gold", "was": "nickel"},
        {"electrode": "Ni-1", "key": "batch", "value": "B1", "was": ""},
    ]
    with client_of(folder) as client:
        answer = client.post("/made/electrodes", json={"changes": changes})
        assert answer.status_code == 409
        (clash,) = answer.json()["clashes"]
        assert clash == {"at": "Ni-1\tmaterial", "what": "material of Ni-1", "yours": "gold", "now": "copper"}
        assert state(folder) == before
        # Who wants what stands there already is no one's adversary.
        changes[0]["value"] = "copper"
        post(client, "/made/electrodes", changes=changes)
        assert client.get("/decided").json()["undo_what"] == "batch of Ni-1: B1"


def test_what_the_disk_refuses_is_told_with_the_way_out(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device", str(folder / "study.toml"))

    before = state(folder)
    with client_of(folder) as client, monkeypatch.context() as patch:
        patch.setattr("os.fsync", full)
        for path, body in (
            ("/decide", {"decisions": [DECISION]}),
            ("/reading/keep?file=data/run1.dat", READING),
        ):
            answer = client.post(path, json=body)
            assert answer.status_code == 400
            assert "free some space" in answer.json()["problem"]
        patch.setattr("halfcell.app.routes.reading.siblings", full)
        answer = client.get("/reading", params={"file": "data/run1.dat"})
        assert "free some space" in answer.text
    assert state(folder) == before


def test_no_route_writes_past_the_history() -> None:
    """Every save in a route stands inside ``with desk.edit()``."""
    found = 0
    for path in ROUTES.glob("*.py"):
        tree = ast.parse(path.read_text("utf-8"))
        inside = {
            id(call)
            for block in ast.walk(tree)
            if isinstance(block, ast.With)
            and any("desk.edit()" in ast.unparse(i.context_expr) for i in block.items)
            for call in ast.walk(block)
        }
        for call in ast.walk(tree):
            in_memory = isinstance(call, ast.Call) and [ast.unparse(a) for a in call.args[:1]] == ["out"]
            if in_memory or not isinstance(call, ast.Call):
                continue
            if ast.unparse(call.func).split(".")[-1] in WRITING:
                found += 1
                assert id(call) in inside, f"{path.name}, line {call.lineno}"
    assert found >= 7
