"""What a hostile file, name or page gets from the server."""

from __future__ import annotations

import io
import shutil
import struct
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from starlette.testclient import TestClient

from halfcell.app.main import create_app
from halfcell.app.taking import plain_name
from halfcell.errors import StudyError

HOST = "127.0.0.1:9"
SECRET = "what nobody may read"


@contextmanager
def client_of(folder: Path | None) -> Iterator[TestClient]:
    app = create_app(folder, hosts=frozenset({HOST}), token="key", cores=1)
    client = TestClient(
        app, base_url=f"http://{HOST}", headers={"origin": f"http://{HOST}"}, raise_server_exceptions=False
    )
    client.cookies.set("halfcell-9", "key")
    with client:
        yield client
        background = client.app.app.state.desk.background  # type: ignore[attr-defined]
        background.stop()
        background.wait(120)


def table(rows: int = 200) -> bytes:
    potential = np.concatenate([np.linspace(0, 0.8, rows // 2), np.linspace(0.8, 0, rows // 2)])
    lines = [f"{e:.4f},{1e-6 * np.sin(3 * e):.4e}" for e in potential]
    return "\n".join(["Potential / V,Current / A", *lines]).encode()


def drop(client: TestClient, target: Path, *files: tuple[str, bytes]) -> Any:
    return client.post(
        "/start/drop", data={"folder": str(target)}, files=[("files", (name, data)) for name, data in files]
    )


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        ("../../out.csv", "out.csv"),
        ("..\\..\\out.csv", "out.csv"),
        ("C:\\lab\\out.csv", "out.csv"),
        ("/etc/out.csv", "out.csv"),
        (" out.csv ", "out.csv"),
    ],
)
def test_only_the_last_part_of_a_name_is_kept(name: str, kept: str) -> None:
    assert plain_name(name) == kept


@pytest.mark.parametrize("name", ["", "..", "/", "a/..", "a\0.csv", "a\n.csv", "x" * 300])
def test_a_name_that_is_none_is_refused(name: str) -> None:
    with pytest.raises(StudyError, match="rename"):
        plain_name(name)


def test_files_with_hostile_names_stay_in_the_new_folder(tmp_path: Path) -> None:
    target = tmp_path / "in" / "study"
    with client_of(None) as client:
        refused = drop(client, target, ("../../../Ni-1_blank.csv", table()))
        assert refused.status_code == 400
        assert not list(tmp_path.iterdir())
        answer = drop(client, target, ("Ni-1_blank.csv", table()), ("Ni-1_<b onload=x>.csv", table()))
        assert answer.status_code in {200, 400}, answer.text
        if answer.status_code == 400:  # such a letter may be no part of a name on this system
            answer = drop(client, target, ("Ni-1_blank.csv", table()))
        page = client.get("/", headers={"accept": "text/html"}).text
    assert "<b onload" not in page
    assert {p.name for p in tmp_path.iterdir()} == {"in"}
    assert {p.name for p in (tmp_path / "in").iterdir()} == {"study"}
    assert list(target.rglob("Ni-1_blank.csv"))


def test_two_files_of_one_name_are_refused_and_nothing_is_made(tmp_path: Path) -> None:
    with client_of(None) as client:
        answer = drop(client, tmp_path / "study", ("a/x.csv", table()), ("a/X.csv", table()))
    assert answer.status_code == 400
    assert "rename one" in answer.json()["problem"]
    assert not (tmp_path / "study").exists()


def test_a_folder_in_use_is_never_written_over(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine", "utf-8")
    with client_of(None) as client:
        answer = drop(client, tmp_path, ("x.csv", table()))
    assert answer.status_code == 400
    assert [p.name for p in tmp_path.iterdir()] == ["mine.txt"]


def test_too_much_at_once_is_refused_before_it_is_read() -> None:
    with client_of(None) as client:
        answer = client.post(
            "/start/drop",
            content=b"x",
            headers={"content-type": "multipart/form-data; boundary=b", "content-length": str(10**10)},
        )
    assert answer.status_code == 413


def picture_bomb() -> bytes:
    """A PNG of 40,000 × 40,000 pixels in a few kilobytes."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", 40_000, 40_000, 8, 0, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(b"\0" * 10**6))
        + chunk(b"IEND", b"")
    )


def archive() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("../../zeros.csv", b"0" * 10**7)
    return out.getvalue()


def test_an_archive_is_not_unpacked_and_a_picture_bomb_not_decoded(tmp_path: Path) -> None:
    target = tmp_path / "study"
    with client_of(None) as client:
        answer = drop(
            client,
            target,
            ("Ni-1_blank.csv", table()),
            ("Ni-1_a.png", picture_bomb()),
            ("more.zip", archive()),
        )
        assert answer.status_code == 200, answer.text
        assert client.get("/", headers={"accept": "text/html"}).status_code == 200
    assert sum(p.stat().st_size for p in target.rglob("*") if p.is_file()) < 2_000_000
    assert not list(tmp_path.rglob("zeros.csv"))


@pytest.fixture
def study(small_demo: Path, tmp_path: Path) -> Path:
    shutil.copytree(small_demo, tmp_path / "study")
    (tmp_path / "secret.csv").write_text(SECRET, "utf-8")
    return tmp_path / "study"


def test_a_link_out_of_the_folder_is_not_followed(study: Path) -> None:
    link = study / "data" / "Cu-1_cv_blank_25mVs.csv"
    with client_of(study) as client:
        assert client.get("/record/3/thumbnail").status_code == 200
        link.unlink()
        try:
            link.symlink_to(study.parent / "secret.csv")
        except OSError:
            pytest.skip("this system lets nobody make links here")
        curve = "/responds/curve?number=3&file=data/Cu-1_cv_blank_25mVs.csv"
        for path in ("/record/3", "/record/3/trace", "/record/3/thumbnail", curve):
            answer = client.get(path)
            assert SECRET not in answer.text
            assert "leaves the study folder" in answer.text, path
        answer = client.get("/reading", params={"file": "data/Cu-1_cv_blank_25mVs.csv"})
        assert answer.status_code == 400
        assert SECRET not in answer.text


@pytest.mark.parametrize("path", ["../secret.csv", "data/../../secret.csv", "/etc/passwd", "C:/secret.csv"])
def test_a_row_that_leaves_the_folder_is_a_mistake_and_not_read(study: Path, path: str) -> None:
    runs = study / "runs.csv"
    runs.write_text(runs.read_text("utf-8").replace("data/Cu-1_cv_blank_25mVs.csv", path), "utf-8")
    with client_of(study) as client:
        page = client.get("/", headers={"accept": "text/html"}).text
        assert "What is missing or wrong" in page
        for ask in ("/record/3", "/record/3/trace", f"/reading?file={path}"):
            answer = client.get(ask)
            assert answer.status_code == 400
            assert SECRET not in answer.text


def test_decisions_and_cells_cannot_name_what_is_outside(study: Path) -> None:
    with client_of(study) as client:
        for body in (
            {"changes": [{"electrode": "Cu-1", "key": "../../x", "value": "1"}]},
            {"changes": [{"electrode": "Cu-1.area", "key": "area", "value": "1 cm^2"}]},
        ):
            assert client.post("/made/electrodes", json=body).status_code == 400
        assert client.post("/made/scale", json={"file": "../secret.csv", "scale": "1 nm"}).status_code == 400
        wrong = client.post(
            "/decide", json={"decisions": [{"kind": "use cycle", "file": "../secret.csv", "cycle": 1}]}
        )
        page = client.get("/", headers={"accept": "text/html"}).text
        # Such a decision is a mistake like any other: it is named, and nothing is read for it.
        assert wrong.status_code == 200
        assert "no row of runs.csv has the file &#39;../secret.csv&#39;" in page
        assert SECRET not in page
