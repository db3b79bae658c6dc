"""What the demo's messy exports say is what the readers hand on."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from halfcell.demo import exports, plan, records
from halfcell.demo.folder import _READERS
from halfcell.pipeline.loading import load

AREA = plan.PRINTED_AREA
MATERIALS = {m.style: m for m, _ in plan.full_plan().materials}


def _made(style: str) -> plan.Made:
    return plan.make(MATERIALS[style], 1, np.random.default_rng(5))


def _hints(style: str, file: str) -> dict[str, object]:
    import tomllib
    from fnmatch import fnmatch

    from halfcell.study.model import ReaderSettings

    if style != "bare numbers":
        return {}
    all_of_them = tomllib.loads(_READERS)["readers"].values()
    return next(
        ReaderSettings.model_validate(h).model_dump() for h in all_of_them if fnmatch(file, h["files"])
    )


@pytest.mark.parametrize("style", sorted(exports.STYLES))
def test_a_voltammogram_is_read_as_it_was_made(style: str, tmp_path: Path) -> None:
    columns = records.voltammogram(
        _made(style), np.random.default_rng(6), rate=0.05, cycles=2, concentration=1.0
    )
    file = f"Ru-1_cv_1mM_50mVs.{exports.ENDINGS[style]}"
    (tmp_path / file).write_bytes(exports.STYLES[style](columns, AREA))
    read = load(tmp_path, file, hints=_hints(style, file), area=AREA)
    n = read.current.size
    assert columns["current"].size - n == (1 if style == "cut short" else 0)
    assert read.potential == pytest.approx(columns["potential"][:n], abs=1e-5)
    assert read.current == pytest.approx(columns["current"][:n], abs=2e-11, rel=1e-6)
    if style != "bare numbers":
        assert read.time == pytest.approx(columns["time"][:n], abs=1e-3)


@pytest.mark.parametrize("style", sorted(exports.STYLES))
def test_an_additions_record_is_read_as_it_was_made(style: str, tmp_path: Path) -> None:
    columns = records.additions(_made(style), np.random.default_rng(6), (0.01, 0.02), air=False).columns
    file = f"Ru-1_additions.{exports.ENDINGS[style]}"
    (tmp_path / file).write_bytes(exports.STYLES[style](columns, AREA))
    read = load(tmp_path, file, hints=_hints(style, file), area=AREA)
    n = read.current.size
    assert columns["current"].size - n == (1 if style == "cut short" else 0)
    assert read.time == pytest.approx(columns["time"][:n], abs=1e-3)
    assert read.current == pytest.approx(columns["current"][:n], abs=2e-11, rel=1e-6)


def test_only_the_exports_without_headings_need_telling(tmp_path: Path) -> None:
    columns = records.voltammogram(_made("bare numbers"), np.random.default_rng(6), rate=0.05, cycles=2)
    (tmp_path / "Ru-1_cv_blank_50mVs.dat").write_bytes(exports.bare_numbers(columns, AREA))
    from halfcell.errors import ReadError

    with pytest.raises(ReadError, match="readers"):
        load(tmp_path, "Ru-1_cv_blank_50mVs.dat", hints={}, area=AREA)
