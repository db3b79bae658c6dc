from __future__ import annotations

from pathlib import Path

import pytest

from halfcell.errors import StudyError
from halfcell.study.atomic import content_hash, write_atomically


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
