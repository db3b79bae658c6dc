"""Studies of earlier versions open for ever, with the same meaning."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest

from halfcell import analyze
from halfcell.cache import Cache
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


@pytest.fixture(scope="module")
def analysis() -> Any:
    return analyze(FOLDER, cores=1, cache=Cache(None))


def test_it_is_analysed(analysis: Any) -> None:
    peaks = {f.electrode: f for f in analysis.findings.named("peak_current")}
    for electrode, height in (("Ni-1", 9.0), ("Ni-2", 8.0), ("Cu-1", 5.0), ("Cu-2", 4.6)):
        found = peaks[electrode]
        assert found.unit == "uA"
        assert abs(found.value - height) < 2.6 * found.standard_uncertainty
        assert found.standard_uncertainty < 0.2 * height
    assert analysis.choice is not None
    assert analysis.choice.ranked[0].candidate == "nickel"


def test_a_decision_is_replayed_to_the_same_digit(analysis: Any, tmp_path: Path) -> None:
    again = analyze(FOLDER, cores=1, cache=Cache(None))
    assert again.findings.json() == analysis.findings.json()
    shutil.copytree(FOLDER, tmp_path / "study")
    (tmp_path / "study" / "adjustments.toml").unlink()
    without = analyze(tmp_path / "study", cores=1, cache=Cache(None))

    def height(made: Any, electrode: str) -> float:
        return float(made.findings.named("peak_current", electrode=electrode)[0].value)

    assert height(without, "Ni-1") != height(analysis, "Ni-1")
    assert height(without, "Ni-2") == height(analysis, "Ni-2")
