from __future__ import annotations

import os
from pathlib import Path

import pytest

from halfcell.errors import StudyError
from halfcell.study.atomic import content_hash, sweep, write_atomically, write_together, written
from halfcell.study.lock import locked


def test_written_whole_or_not_at_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "study.toml"
    first = write_atomically(path, b"one")
    assert content_hash(path) == first
    second = write_atomically(path, b"two", expected=first)
    assert path.read_bytes() == b"two"

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    for step in ("os.fsync", "pathlib.Path.replace"):
        with monkeypatch.context() as patch:
            patch.setattr(step, full)
            with pytest.raises(StudyError, match="No space left"):
                write_atomically(path, b"three")
        assert path.read_bytes() == b"two"
        assert [p.name for p in tmp_path.iterdir()] == ["study.toml"]
    assert content_hash(path) == second


def test_only_over_what_was_read(tmp_path: Path) -> None:
    path = tmp_path / "study.toml"
    assert content_hash(path) == ""
    mine = write_atomically(path, b"mine", expected="")
    path.write_bytes(b"theirs")
    with pytest.raises(StudyError, match="meanwhile"):
        write_atomically(path, b"mine again", expected=mine)
    assert path.read_bytes() == b"theirs"


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(StudyError, match="cannot be written"):
        write_atomically(tmp_path / "none" / "x", b"")


@pytest.mark.parametrize(
    ("code", "words"), [(28, "free some space"), (27, "full"), (13, "may not be written to"), (30, "copy the study"), (5, "is there")]
)  # fmt: skip
def test_the_way_out_of_a_failed_write_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: int, words: str
) -> None:
    def failing(*_: object) -> None:
        raise OSError(code, "why")

    monkeypatch.setattr("os.fsync", failing)
    with pytest.raises(StudyError, match=words):
        write_atomically(tmp_path / "study.toml", b"x")
    monkeypatch.setattr("os.open", failing)
    with pytest.raises(StudyError, match=words), locked(tmp_path / "study.toml"):
        pass


def test_a_full_disk_leaves_no_lock_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    class Full:
        def __init__(self, handle: int, *_: object, **__: object) -> None:
            os.close(handle)

        def __enter__(self) -> Full:
            raise OSError(28, "No space left on device")

        def __exit__(self, *_: object) -> None: ...

    monkeypatch.setattr("os.fdopen", Full)
    with pytest.raises(StudyError, match="Nothing was written"), locked(tmp_path / "study.toml"):
        pass
    assert not list(tmp_path.iterdir())


def test_what_was_written_is_told_exactly(tmp_path: Path) -> None:
    path = tmp_path / "study.toml"
    with written() as found:
        write_atomically(path, b"one")
        write_atomically(path, b"one")
        write_atomically(path, None)
    assert [(w.before, w.after) for w in found] == [(None, b"one"), (b"one", None)]
    assert not path.exists()
    write_atomically(path, b"two")
    assert len(found) == 2


def test_what_a_killed_program_left_is_removed_later(tmp_path: Path) -> None:
    old, new, other = (tmp_path / n for n in (".study.toml.a.part", ".runs.csv.b.part", "data.part"))
    for path in (old, new, other):
        path.write_bytes(b"")
    os.utime(old, (0, 0))
    os.utime(other, (0, 0))
    sweep(tmp_path)
    assert sorted(p.name for p in tmp_path.iterdir()) == [".runs.csv.b.part", "data.part"]


def test_several_files_stand_together_or_not_at_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    one, two = tmp_path / "study.toml", tmp_path / "runs.csv"
    one.write_bytes(b"1")
    with written() as writes:
        write_together([(one, b"2", b"1"), (two, b"new", None)])
    assert (one.read_bytes(), two.read_bytes()) == (b"2", b"new")
    assert [(w.path.name, w.before, w.after) for w in writes] == [
        ("study.toml", b"1", b"2"),
        ("runs.csv", None, b"new"),
    ]
    with pytest.raises(StudyError, match=r"runs\.csv was changed by someone else"):
        write_together([(one, b"3", b"2"), (two, b"newer", b"old")])
    real = Path.replace

    def full(self: Path, target: Path) -> Path:
        if target == two and self.read_bytes() == b"newer":
            raise OSError(28, "No space left on device")
        return real(self, target)

    monkeypatch.setattr(Path, "replace", full)
    with (
        written() as writes,
        pytest.raises(StudyError, match=r"runs\.csv cannot be written .*the old files stand"),
    ):
        write_together([(one, b"3", b"2"), (two, b"newer", b"new")])
    assert writes == []
    assert (one.read_bytes(), two.read_bytes()) == (b"2", b"new")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["runs.csv", "study.toml"]
