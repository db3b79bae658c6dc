"""The area by a probe: the stage on sweeps computed from a known area."""

from __future__ import annotations

import importlib
import math
from dataclasses import replace
from pathlib import Path

import pytest

from halfcell.pipeline.outcome import Analysis
from halfcell.pipeline.responds.couples import couple_of
from halfcell.report.blocks import Table
from halfcell.report.parts.responds import part
from halfcell.results import Measured
from halfcell.study import open_study
from pipeline.responds.known_study import AREA, DIFFUSION, Study

PROBE = """
[solutions.couple]
oxygen = "removed"
probe = "an outer-sphere couple"
"""
STATED = PROBE + 'probe_diffusion_coefficient = "1e-5 cm^2/s"\nprobe_diffusion_uncertainty = 0.06\n'


@pytest.fixture
def study(tmp_path: Path) -> Study:
    study = Study(tmp_path)
    study.electrode("Ni-1", "nickel")
    return study


def _sweeps(study: Study, *, k: float = math.inf, rates: tuple[float, ...] = (0.02, 0.05, 0.1, 0.2)) -> set[str]:  # fmt: skip
    return {
        study.cv("Ni-1", rate, level, share=1.3, k=k / math.sqrt(DIFFUSION), solution="couple")
        for rate in rates
        for level in (0.0, 2.0)
    }


@pytest.mark.parametrize("k", [math.inf, 5e-5])
def test_the_area_is_found_with_fast_and_middling_transfer(study: Study, k: float) -> None:
    _sweeps(study, k=k)
    _, found = study.run(more=STATED)
    (area,) = found.named("probe_area", electrode="Ni-1")
    true = 1.3 * AREA * 1e4
    assert area.unit == "cm^2"
    assert area.value == pytest.approx(true, rel=0.025)
    assert abs(area.value - true) < 2 * area.standard_uncertainty
    assert area.standard_uncertainty > 0.03 * area.value  # half of that of D
    assert ("quasi" in area.notes[0]) == math.isfinite(k)
    assert "not interchangeable with the real area" in area.notes[1]
    if math.isfinite(k):
        assert float(area.notes[0].split("k⁰ = ")[1].split()[0]) == pytest.approx(k * 100, rel=0.15)


@pytest.mark.parametrize("k", [1e-3, 5e-4])
def test_a_couple_near_the_reversible_one_has_no_area_too_low(study: Study, k: float) -> None:
    # Peaks 58 to 65 mV apart, reversed 500 mV beyond; K at the fastest sweep is 0.985 and 0.97.
    _sweeps(study, k=k)
    _, found = study.run(more=STATED.replace("0.06", "0.0"))
    (area,) = found.named("probe_area", electrode="Ni-1")
    off = area.value - 1.3 * AREA * 1e4
    assert abs(off) < 0.004 * area.value
    assert abs(off) < 2 * area.standard_uncertainty < 0.02 * area.value
    assert any("concentration is not in that of the area" in note for note in area.notes)


@pytest.mark.parametrize("gap", [Measured(value=0.06, u=0.2), Measured(value=0.06)])
def test_no_area_where_the_speed_is_not_known(study: Study, monkeypatch: pytest.MonkeyPatch, gap: Measured) -> None:  # fmt: skip
    _sweeps(study)
    module = importlib.import_module("halfcell.pipeline.responds.probe_areas")
    monkeypatch.setattr(module, "couple_of", lambda *a, **k: replace(couple_of(*a, **k), separation=gap))
    out, found = study.run(more=STATED)
    assert not found.named("probe_area")
    assert any("says nothing of how fast" in str(p) for p in out.problems)


def test_the_couples_doubts_are_the_areas(study: Study, monkeypatch: pytest.MonkeyPatch) -> None:
    _sweeps(study)
    module = importlib.import_module("halfcell.pipeline.responds.probe_areas")
    monkeypatch.setattr(module, "couple_of", lambda *a, **k: replace(couple_of(*a, **k), notes=("a doubt",)))
    _, found = study.run(more=STATED)
    assert found.named("probe_area")[0].notes.count("a doubt") == 1


def test_the_report_shows_it_beside_what_it_is_not(study: Study) -> None:
    _sweeps(study)
    out, found = study.run(more=STATED)
    analysis = Analysis(study=open_study(study.folder), findings=found, exhibits=out.exhibits, problems=out.problems)  # fmt: skip
    (section,) = [s for s in part(analysis).sections if s.title == "Real area and area by probe"]
    (table,) = section.blocks
    assert isinstance(table, Table)
    ((electrode, _, label, by, area),) = table.rows
    assert (electrode, label, by) == ("Ni-1", "Area by probe", "couple, 2 mmol/L")
    assert area.startswith("0.09")
    assert "not interchangeable" in table.note


def test_probe_runs_are_kept_from_the_analyte(study: Study) -> None:
    ours = _sweeps(study)
    study.cv("Ni-1", 0.05, 0.0)
    study.cv("Ni-1", 0.05, 1.0)
    _, found = study.run(more=STATED)
    others = [f for f in found if f.name != "probe_area"]
    assert others
    assert not any(ours & set(f.recordings) for f in others)


def test_no_area_without_a_diffusion_coefficient(study: Study) -> None:
    _sweeps(study)
    out, found = study.run(more=PROBE)
    assert not found.named("probe_area")
    told = " ".join(str(p) for p in out.problems)
    assert "diffusion coefficient of an outer-sphere couple is not stated" in told
    assert "[solutions.couple]" in told


def test_no_area_from_slow_transfer_or_too_few_rates(study: Study) -> None:
    study.electrode("Ni-2", "nickel")
    _sweeps(study, k=1e-6)
    study.cv("Ni-2", 0.05, 1.0, solution="couple")
    out, found = study.run(more=STATED)
    assert not found.named("probe_area")
    told = " ".join(str(p) for p in out.problems)
    assert "for ψ" in told or "both peaks" in told
    assert "at 3 or more scan rates" in told


def test_a_probe_without_a_name_is_told(study: Study) -> None:
    _sweeps(study)
    out, found = study.run(more=STATED.replace('probe = "an outer-sphere couple"\n', ""))
    assert not found.named("probe_area")
    assert any("names no probe" in str(p) for p in out.problems)


def test_no_area_from_a_bound_probe(study: Study) -> None:
    # Heights that grow as the scan rate: the area follows it, as with an adsorbed probe.
    for rate in (0.02, 0.05, 0.1, 0.2):
        study.cv("Ni-1", rate, 2.0, share=math.sqrt(rate / 0.05), solution="couple")
        study.cv("Ni-1", rate, 0.0, solution="couple")
    out, found = study.run(more=STATED)
    assert not found.named("probe_area")
    assert any("needs diffusion alone" in str(p) for p in out.problems)
