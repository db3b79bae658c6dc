"""Damaged files give a right recording or an error in words; never anything else."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from halfcell.errors import ReadError
from halfcell.readers import preview, read
from readers import messy

_JUNK = [
    b"\x00",
    b"\xff",
    b"\n",
    b"\r",
    b",",
    b";",
    b"\t",
    b'"',
    b"e",
    b"-",
    b"9",
    b"\n\n",
    b"nan",
    b"\xef\xbb\xbf",
    b"%",
    b"1e999",
]


def damaged(data: bytes, rng: np.random.Generator) -> bytes:
    """A file cut, shuffled, repeated or strewn with junk."""
    way = rng.integers(6)
    if way == 0:
        return data[: rng.integers(1, len(data))]
    if way == 1:
        return data[rng.integers(0, len(data) - 1) :]
    if way == 2:
        out = bytearray(data)
        for at in rng.integers(0, len(out), 12):
            out[at] = rng.integers(256)
        return bytes(out)
    if way == 3:
        for _ in range(rng.integers(1, 8)):
            at = int(rng.integers(len(data)))
            data = data[:at] + _JUNK[rng.integers(len(_JUNK))] + data[at:]
        return data
    if way == 4:
        a, b = sorted(rng.integers(0, len(data), 2))
        return data[:a] + data[b:] + data[a:b]
    return bytes(rng.integers(0, 256, rng.integers(0, 4000)).astype(np.uint8))


@pytest.mark.parametrize("seed", range(12))
def test_damaged_files_never_surprise(seed: int, tmp_path: Path) -> None:
    rng = np.random.default_rng(seed)
    truth = messy.truth(cycles=2, points=20)
    path = tmp_path / "damaged.txt"
    for style in messy.STYLES:
        path.write_bytes(damaged(style.write(truth), rng))
        try:
            recording = read(path)
        except ReadError:
            assert preview(path).problem, style.name
            continue
        columns = [recording.time, recording.potential, recording.current, recording.cycle]
        lengths = {len(c) for c in columns if c is not None}
        assert lengths == {len(recording.current)}
        assert len(recording.current) > 0
        for column in columns[:3]:
            assert column is None or np.isfinite(column).all()


@pytest.mark.parametrize("seed", range(4))
def test_a_cut_file_never_gives_a_wrong_number(seed: int, tmp_path: Path) -> None:
    """Wherever an export stops, every row that comes back is a row of the truth."""
    rng = np.random.default_rng(seed)
    truth = messy.truth(cycles=1, points=30)
    path = tmp_path / "cut.txt"
    for style in messy.STYLES:
        if "side" in style.name or "blocks" in style.name:
            continue
        whole = style.write(truth)
        path.write_bytes(whole[: rng.integers(len(whole) // 2, len(whole))])
        try:
            recording = read(path)
        except ReadError:
            continue
        count = len(recording.current)
        assert count <= len(truth.current)
        np.testing.assert_allclose(
            recording.current, truth.current[:count], rtol=2e-6, atol=1.1e-12, err_msg=style.name
        )
        np.testing.assert_allclose(
            recording.potential, truth.potential[:count], atol=2e-5, err_msg=style.name
        )
