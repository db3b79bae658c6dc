from __future__ import annotations

import math

import pytest

from halfcell.finding import Finding, Findings
from halfcell.pipeline.confounds import confounds
from halfcell.pipeline.confounds.sweeps import resolution
from halfcell.pipeline.confounds.verdict import told_apart
from halfcell.pipeline.quantifies import quantifies
from halfcell.results import Measured


def _run(bench):
    before = Findings(quantifies(bench, Findings(())).findings)
    return confounds(bench, before)


def _pair(maker, *, slope: float, oxygen: float, slope_with: float | None = None) -> None:
    maker.electrode("Cu-1", "copper")
    maker.additions("Cu-1", slope, scatter=20e-9)
    maker.additions(
        "Cu-1",
        slope if slope_with is None else slope_with,
        scatter=20e-9,
        offset=5e-9 + oxygen,
        solution="aired",
        tail="_air",
    )


def test_oxygen_that_reads_as_analyte(maker) -> None:
    _pair(maker, slope=-20e-6, oxygen=-4e-6)
    table = Findings(_run(maker.bench()).findings)
    f = table.named("false_concentration", condition="oxygen")[0]
    # 4 µA over 20 µA/(mmol/L), scaled from the equilibrium level to the stated one.
    true = 200.0 * 258 / f.settings["level measured / µM"]
    assert f.settings["interval low"] < true < f.settings["interval high"]
    assert abs(f.value - true) < 4 * f.standard_uncertainty
    assert table.named("additivity")[0].text == "additive"
    assert table.named("told_apart")[0].text == "by difference"
    s = table.named("selectivity_coefficient")[0]
    assert s.value == pytest.approx(f.value / 258, rel=1e-9)


def test_the_stocks_uncertainty_is_in_what_a_confounder_reads_as(maker) -> None:
    _pair(maker, slope=-20e-6, oxygen=-4e-6)
    plain, table = (Findings(_run(maker.bench(keys)).findings) for keys in ("", "stock_uncertainty = 0.05\n"))
    for name in ("false_concentration", "selectivity_coefficient"):
        a, b = (t.named(name, condition="oxygen")[0] for t in (plain, table))
        assert b.value == pytest.approx(a.value)
        assert b.standard_uncertainty == pytest.approx(math.hypot(a.standard_uncertainty, 0.05 * a.value))
        far, near = (f.value - f.settings["interval low"] for f in (b, a))
        assert far == pytest.approx(math.hypot(near, 1.959964 * 0.05 * a.value), rel=1e-5)
    for name in ("confounder_signal", "slope_ratio"):  # a current, and a ratio in which it cancels
        a, b = (t.named(name, condition="oxygen")[0] for t in (plain, table))
        assert b.standard_uncertainty == pytest.approx(a.standard_uncertainty)


def test_no_signal_is_no_danger(maker) -> None:
    _pair(maker, slope=20e-6, oxygen=0.0)
    table = Findings(_run(maker.bench()).findings)
    f = table.named("false_concentration", condition="oxygen")[0]
    assert abs(f.value) < 4 * f.standard_uncertainty
    assert table.named("told_apart")[0].text == "not needed"


def test_another_slope_in_air_cannot_be_subtracted(maker) -> None:
    _pair(maker, slope=-20e-6, oxygen=-4e-6, slope_with=-15e-6)
    table = Findings(_run(maker.bench()).findings)
    assert table.named("additivity")[0].text == "not additive"
    assert table.named("told_apart")[0].text == "no"


def test_made_from_the_analyte_is_indistinguishable(maker) -> None:
    _pair(maker, slope=-20e-6, oxygen=-4e-6)
    bench = maker.bench()
    text = (
        (maker.folder / "study.toml")
        .read_text("utf-8")
        .replace('level = "258 umol/L"', 'level = "258 umol/L"\nmade_from_analyte = true')
    )
    (maker.folder / "study.toml").write_text(text, "utf-8")
    from dataclasses import replace

    from halfcell.study import open_study

    out = _run(replace(bench, study=open_study(maker.folder)))
    word = Findings(out.findings).named("told_apart")[0]
    assert word.text == "indistinguishable"
    assert "no record here separates" in word.notes[0]


def test_a_blank_with_the_species_is_enough_for_a_false_level(maker) -> None:
    maker.electrode("D-1", "disc")
    for level in (0, 0.025, 0.05, 0.1, 0.2, 0.4):
        maker.step("D-1", level)
    maker.step("D-1", 0, solution="salty", tail="_salt", offset=200e-9)
    out = _run(maker.bench('sample_from = "2 s"\nsample_to = "9 s"\n'))
    table = Findings(out.findings)
    f = table.named("false_concentration", condition="chloride")[0]
    slope = 4.8  # µA/(mmol/L)
    assert f.settings["level measured / µM"] == pytest.approx(1e4)
    assert f.settings["interval low"] < 2 * f.value < 2 * f.settings["interval high"]
    assert f.value == pytest.approx(2 * 200e-3 / slope * 1e3, rel=0.25)
    assert table.named("additivity")[0].text == "untested"
    assert any("no runs with and without oxygen" in p.what for p in out.problems)


def test_a_bare_electrode_without_response_reads_nothing(maker) -> None:
    maker.electrode("C-1", "carbon")
    maker.additions("C-1", 0.0)
    maker.additions("C-1", 0.0, solution="aired", tail="_air", offset=-1e-6)
    f = Findings(_run(maker.bench()).findings).named("false_concentration")[0]
    assert math.isnan(f.value)
    assert "no signal can be read" in f.notes[0]


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({}, "by difference"),
        ({"resolution": 1.4}, "by potential"),
        ({"resolution": 0.6}, "by difference"),
        ({"p_additive": math.nan}, "no"),
        ({"p_additive": 0.001}, "no"),
        ({"made_from_analyte": True}, "indistinguishable"),
        ({"made_from_analyte": True, "same_direction": False}, "by difference"),
        ({"made_from_analyte": True, "resolution": 2.0}, "by potential"),
        ({"low": -0.1, "high": 0.2}, "not needed"),
        ({"low": 0.1, "high": 0.9}, "not needed"),
        ({"low": -0.1, "high": 9.0}, "by difference"),
    ],
)
def test_the_word(changes: dict, word: str) -> None:
    usual = {
        "low": 5.0, "high": 6.0, "limit_of_detection": 1.0, "p_additive": 0.4, "level": 0.95, "resolution": math.nan,
        "made_from_analyte": False, "same_direction": True,
    }  # fmt: skip
    assert told_apart(**(usual | changes)).word == word


def _swept(maker, where: float):
    maker.electrode("Cu-1", "copper")
    maker.sweep("Cu-1", [], solution="buffer", tail="_blank")
    maker.sweep("Cu-1", [(where, 0.12, 3e-6)], solution="aired", tail="_air")
    analyte = maker.sweep(
        "Cu-1", [(-0.35, 0.1, 5e-6)], solution="buffer", tail="_1mM", concentration="1 mmol/L"
    )
    common = {
        "electrode": "Cu-1",
        "group": "copper",
        "recordings": (analyte,),
        "method": "m",
        "source": "s",
        "settings": {"direction": "cathodic"},
    }
    before = Findings(
        (
            Finding(name="response_current", value=5.0, standard_uncertainty=0.05, unit="uA", **common),
            Finding(name="peak_potential", value=-0.35, standard_uncertainty=0.001, unit="V", **common),
            Finding(name="peak_width", value=100.0, standard_uncertainty=2.0, unit="mV", **common),
        )
    )
    return Findings(confounds(maker.bench(), before).findings)


def test_peaks_far_apart_are_told_by_potential(maker) -> None:
    table = _swept(maker, -0.75)
    found = table.named("peak_resolution", condition="oxygen")[0]
    assert found.value == pytest.approx(0.4 / 0.11, rel=0.03)
    assert abs(table.named("false_concentration_by_sweep")[0].value) < 5


def test_a_confounder_under_the_peak_is_read_by_the_sweep(maker) -> None:
    table = _swept(maker, -0.37)
    assert table.named("peak_resolution")[0].value < 0.3
    found = table.named("false_concentration_by_sweep")[0]
    height = 3.0 * 2 ** (-4 * (0.02 / 0.12) ** 2)
    assert found.value == pytest.approx(
        height / 5.0 * 1e3 * 258 / found.settings["level measured / µM"], rel=0.03
    )


def test_resolution_by_hand() -> None:
    found = resolution(
        Measured(value=0.1, u=0.003),
        Measured(value=0.1, u=0.01),
        Measured(value=0.4, u=0.004),
        Measured(value=0.2, u=0.0),
    )
    assert found.value == pytest.approx(2.0)
    assert found.u == pytest.approx(math.sqrt((0.005 / 0.15) ** 2 + (2 * 0.005 / 0.15) ** 2))
