"""Another package's reader is found by its entry point, asked by sniffing, and never breaks the rest."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from importlib import metadata
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from halfcell.errors import ReadError
from halfcell.readers import read, registry
from halfcell.recording import Recording
from readers import messy

TRUTH = messy.truth()


class Made:
    """A reader of an invented binary format: a mark, then potentials and currents."""

    name = "invented binary"

    def sniff(self, path: Path, first_bytes: bytes) -> float:
        return 1.0 if first_bytes.startswith(b"INVENTED") else 0.0

    def read(self, path: Path, *, name: str, sha256: str, hints: Mapping[str, Any]) -> Recording:
        values = np.frombuffer(path.read_bytes()[8:]).reshape(2, -1)
        return Recording(
            file=name, sha256=sha256, potential=values[0], current=values[1], extra={}, reader=self.name
        )


class Broken:
    name = "broken"

    def sniff(self, path: Path, first_bytes: bytes) -> float:
        raise RuntimeError("cannot sniff")

    def read(self, path: Path, *, name: str, sha256: str, hints: Mapping[str, Any]) -> Recording:
        raise KeyError("cannot read")


@pytest.fixture(autouse=True)
def _packages(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    def points(*, group: str) -> list[metadata.EntryPoint]:
        here = {
            "invented": "registry_readers:Made",
            "broken": "registry_readers:Broken",
            "absent": "registry_readers:Nobody",
        }
        return [metadata.EntryPoint(name, value, group) for name, value in here.items()]

    import sys
    from types import ModuleType

    module = ModuleType("registry_readers")
    module.Made, module.Broken = Made, Broken  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "registry_readers", module)
    monkeypatch.setattr(metadata, "entry_points", points)
    registry.added.cache_clear()
    yield
    registry.added.cache_clear()


def test_a_reader_that_is_sure_gets_the_file(tmp_path: Path) -> None:
    path = tmp_path / "record.bin"
    path.write_bytes(b"INVENTED" + np.stack([TRUTH.potential, TRUTH.current]).tobytes())
    recording = read(path)
    assert recording.reader == "invented binary"
    np.testing.assert_array_equal(recording.current, TRUTH.current)
    assert len(recording.sha256) == 64


def test_other_files_go_to_our_own_even_beside_broken_packages(tmp_path: Path) -> None:
    path = tmp_path / "plain.csv"
    path.write_bytes(messy.STYLES[0].write(TRUTH))
    assert read(path).reader == registry.OWN
    assert read(path, hints={"reader": registry.OWN}).reader == registry.OWN


@pytest.mark.parametrize(
    ("reader", "says"),
    [
        ("broken", "failed (KeyError"),
        ("absent", "cannot be loaded"),
        ("nobody", "known are: 'delimited text', 'invented'"),
    ],
)
def test_a_reader_that_fails_is_named(reader: str, says: str, tmp_path: Path) -> None:
    path = tmp_path / "plain.csv"
    path.write_bytes(messy.STYLES[0].write(TRUTH))
    with pytest.raises(ReadError) as caught:
        read(path, hints={"reader": reader})
    assert says in str(caught.value)
