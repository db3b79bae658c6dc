"""What docs/raw-files.md shows is true: its reader reads, its keys are keys, its claims hold."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import numpy as np
import pytest

from halfcell.errors import ReadError
from halfcell.readers import images, read
from halfcell.study.model import ReaderSettings
from readers import messy

PAGE = (Path(__file__).parents[2] / "docs" / "raw-files.md").read_text("utf-8")


def block(language: str, holding: str) -> str:
    """The code block of the page that holds a text."""
    (found,) = [b for b in re.findall(rf"```{language}\n(.*?)```", PAGE, re.DOTALL) if holding in b]
    return found


def test_the_reader_on_the_page_reads(tmp_path: Path) -> None:
    space: dict[str, object] = {}
    exec(compile(block("python", "class TwoColumns"), "raw-files.md", "exec"), space)
    reader = space["TwoColumns"]()  # type: ignore[operator]
    path = tmp_path / "record.bin"
    values = np.array([[0.1, 1e-6], [0.2, 2e-6]])
    path.write_bytes(b"TWOCOL\0\0" + values.astype("<f8").tobytes())
    assert reader.sniff(path, path.read_bytes()[:16]) > 0.5
    recording = reader.read(path, name="record.bin", sha256="0", hints={})
    np.testing.assert_array_equal(recording.current, values[:, 1])


def test_the_keys_on_the_page_read_such_a_file(tmp_path: Path) -> None:
    (table,) = tomllib.loads(block("toml", "readers.old-exports"))["readers"].values()
    settings = ReaderSettings.model_validate(table).model_dump()
    truth = messy.truth()
    rows = messy.table([(truth.potential * 1e3, "10.3f"), (truth.current * 1e9, "12.4f")], " ")
    path = tmp_path / "old_1.dat"
    path.write_bytes(("made up, 25 °C\n" + rows).encode("latin-1"))
    np.testing.assert_allclose(read(path, hints=settings).current, truth.current, atol=1e-12)


def test_a_current_of_one_half_without_a_unit_is_refused(tmp_path: Path) -> None:
    truth = messy.truth()
    path = tmp_path / "half.csv"
    path.write_text(
        "E/V,I\n" + messy.table([(truth.potential, ".5f"), (truth.current * 5e5, ".6f")]), "utf-8"
    )
    with pytest.raises(ReadError, match="gives no unit"):
        read(path)


def test_the_largest_image_is_as_the_page_says() -> None:
    assert f"up to {images.LARGEST // 1_000_000} million pixels" in PAGE
