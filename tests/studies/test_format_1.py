"""Studies of earlier versions open for ever, with the same meaning."""

from __future__ import annotations

from pathlib import Path

import pytest

from halfcell.study import open_study
from halfcell.study.load import check

FOLDER = Path(__file__).parent / "format-1"


def test_it_opens_without_a_mistake() -> None:
    assert check(FOLDER) == ()


def test_it_means_what_it_meant() -> None:
    study = open_study(FOLDER)
    assert study.file.diffusion_coefficient == pytest.approx(1.9e-9)
    assert study.file.temperature == pytest.approx(298.15)
    assert study.file.electrodes["Ni-1"].area == pytest.approx(7.07e-6)
    assert study.file.electrodes["Ni-1"].deposition_charge == pytest.approx(1.2e-3)
    assert study.file.analysis.micrographs.smallest == pytest.approx(5e-9)
    assert [run.concentration for run in study.runs] == pytest.approx(
        [None, 1.0, 0.0, 1.0, None, 1.0, None, 1.0, None]
    )
    assert [run.scan_rate for run in study.runs] == pytest.approx([0.05] * 9)
    assert study.attributes("Ni-1")["who made it"] == "first hand"
    assert study.attributes("Ni-1")["seeding"] == "yes"
    first, second = study.adjustments
    assert first.windows[1] == pytest.approx((0.64, 0.70))
    assert second.cycle == 1
