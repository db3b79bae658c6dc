"""Every messy style gives the recording it was written from."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from halfcell.readers import read
from readers import messy


@pytest.mark.parametrize("style", messy.STYLES, ids=lambda s: s.name)
def test_each_style_gives_back_its_truth(style: messy.Style, tmp_path: Path) -> None:
    truth = messy.truth()
    path = tmp_path / "export.txt"
    path.write_bytes(style.write(truth))
    recording = read(path)
    kept = slice(None, style.rows)
    for column in ("time", "potential", "current", "cycle"):
        got = getattr(recording, column)
        if column not in style.has:
            assert got is None, column
            continue
        np.testing.assert_allclose(
            got, getattr(truth, column)[kept], rtol=2e-6, atol=1.1e-12 if column == "current" else 1.1e-4
        )
        assert not got.flags.writeable
    assert not recording.per_area
    assert recording.file == "export.txt"
