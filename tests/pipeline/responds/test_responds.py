"""The whole stage on a small study computed from known truth."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from halfcell.finding import Findings
from halfcell.signals.truth import bound, charging, programme, spoiled
from halfcell.voltammetry.randles_sevcik import peak_current
from pipeline.responds.known_study import AREA, DIFFUSION, METAL, RESISTANCE, Study


@pytest.fixture
def study(tmp_path: Path) -> Study:
    return Study(tmp_path)


def _one(findings: Findings, name: str, electrode: str, condition: str = "") -> Any:
    (found,) = findings.named(name, electrode=electrode, condition=condition)
    return found


def test_peak_capacitance_and_reference(study: Study) -> None:
    study.electrode("Ni-1", "nickel", METAL)
    study.electrode("C-1", "carbon", 'role = "bare"\n')
    for rate in (0.02, 0.05, 0.1, 0.2):
        study.cv("Ni-1", rate, 0.0)
        study.cv("C-1", rate, 0.0, capacitance=1e-6)
    study.cv("Ni-1", 0.05, 1.0)
    study.deposition("Ni-1")
    out, found = study.run()
    true = peak_current(electrons=1, area=AREA, concentration=1.0, diffusion=DIFFUSION, rate=0.05) * 1e6
    peak = _one(found, "peak_current", "Ni-1")
    assert abs(peak.value - true) < 4 * peak.standard_uncertainty + 0.005 * true
    assert peak.notes[0] == "at 1 mmol/L, 50 mV/s"
    assert _one(found, "response_class", "Ni-1").text == "peak"
    assert _one(found, "peak_potential", "Ni-1").value == pytest.approx(0.2285, abs=2e-3)
    against = _one(found, "peak_potential_against", "Ni-1", "vs RHE")
    assert against.value == pytest.approx(0.2285 + 0.210 + 7 * 0.05916, abs=3e-3)
    assert _one(found, "double_layer_capacitance", "Ni-1").value == pytest.approx(2e-6 / AREA * 100, rel=0.01)
    assert _one(found, "capacitance_ratio", "Ni-1").value == pytest.approx(2.0, rel=0.02)
    assert _one(found, "growth_of_nuclei", "Ni-1").text == "instantaneous"
    assert _one(found, "nominal_thickness", "Ni-1").value == pytest.approx(
        0.5e-3 / (2 * 96485.33) * 58.693e-3 / 8908 / AREA * 1e9, rel=1e-3
    )
    assert {e.kind for e in out.exhibits} >= {"voltammogram", "responses", "capacitance", "transient"}
    assert len({f.key for f in found}) == len(found)


def test_scan_rate_study_and_couple(study: Study) -> None:
    study.electrode("Ni-1", "nickel")
    for rate in (0.02, 0.05, 0.1, 0.2):
        study.cv("Ni-1", rate, 0.0)
        study.cv("Ni-1", rate, 1.0)
    _, found = study.run()
    assert _one(found, "control_of_current", "Ni-1").text == "diffusion"
    area = _one(found, "electroactive_area", "Ni-1")
    assert area.value == pytest.approx(0.0707, rel=0.02)
    assert not found.named("transfer_coefficient", electrode="Ni-1", condition="")
    assert _one(found, "peak_separation", "Ni-1").value == pytest.approx(58, abs=4)
    assert _one(found, "peak_ratio", "Ni-1").value == pytest.approx(1.0, abs=0.08)


def test_control_study_shown(study: Study) -> None:
    for seeding in (False, True):
        for plating in (False, True):
            for k in range(3):
                name = f"E{seeding:d}{plating:d}-{k}"
                done = f"factors = {{ seeding = {str(seeding).lower()}, plating = {str(plating).lower()} }}\n"
                study.electrode(name, f"nickel {seeding:d}{plating:d}", 'molar_mass = "58.7 g/mol"\n' + done)
                study.cv(name, 0.05, 0.0)
                share = {(0, 0): 0.0, (1, 0): 0.15, (0, 1): 0.2, (1, 1): 1.0}[seeding, plating] * math.exp(
                    0.05 * study.rng.standard_normal()
                )
                study.cv(
                    name,
                    0.05,
                    1.0,
                    share=share or 1e-9,
                    wave=0.0 if plating or not seeding else 8.0,
                )
    out, found = study.run()
    assert {f.text for f in found.named("response_class") if f.electrode.startswith("E11")} == {"peak"}
    assert {f.text for f in found.named("response_class") if f.electrode.startswith("E10")} == {"wave"}
    assert {f.text for f in found.named("response_class") if f.electrode.startswith("E00")} == {"none"}
    (verdict,) = found.named("steps_needed")
    assert verdict.text == "shown"
    effects = {f.condition: f for f in found.named("effect_on_response")}
    assert effects["plating × seeding"].value > 3 * effects["plating × seeding"].standard_uncertainty
    assert any(e.kind == "controls" for e in out.exhibits)


def test_wrong_scan_rate_and_missing_blank_are_told(study: Study) -> None:
    study.electrode("Ni-1", "nickel")
    study.cv("Ni-1", 0.05, 1.0, stated=0.1)
    out, found = study.run()
    texts = " ".join(str(p) for p in out.problems)
    assert "stated 100 mV/s, in the data 50 mV/s" in texts
    assert "analysed without a blank: Ni-1 has no blank" in texts
    assert _one(found, "scan_rate_measured", "Ni-1").value == pytest.approx(0.05, rel=1e-4)


def test_pulses_of_either_sign(study: Study) -> None:
    for name, flip in (("Ni-1", 1), ("Ni-2", -1)):
        study.electrode(name, f"nickel {flip}")
        study.pulses(name, 0.0, flip=flip)
        study.pulses(name, 1.0, flip=flip)
    _, found = study.run()
    for name in ("Ni-1", "Ni-2"):
        assert _one(found, "half_wave_potential", name).value == pytest.approx(0.2, abs=3e-3)
        assert abs(_one(found, "peak_current", name).value) == pytest.approx(
            1.0 * math.tanh(0.05 / 4 / 0.025693), rel=0.03
        )


def test_the_stated_resistance_is_taken_off(study: Study) -> None:
    for name, more in (("Ni-1", ""), ("Ni-2", f'resistance = "{RESISTANCE:g} ohm"\n')):
        study.electrode(name, name, more)
        study.cv(name, 0.05, 0.0, ohm=RESISTANCE)
        study.cv(name, 0.05, 1.0, ohm=RESISTANCE)
    _, found = study.run()
    off, right = (_one(found, "peak_potential", n).value for n in ("Ni-1", "Ni-2"))
    assert right == pytest.approx(0.2285, abs=2e-3)
    height = peak_current(electrons=1, area=AREA, concentration=1.0, diffusion=DIFFUSION, rate=0.05)
    assert off - right == pytest.approx(height * RESISTANCE, abs=1e-3)


def test_a_persons_windows_and_cycle_are_replayed(study: Study) -> None:
    study.electrode("Ni-1", "nickel")
    study.cv("Ni-1", 0.05, 0.0)
    file = study.cv("Ni-1", 0.05, 1.0)
    decided = f"""format = 1
[[adjustment]]
kind = "baseline window"
file = "{file}"
windows = [["-0.2 V", "-0.1 V"]]
[[adjustment]]
kind = "use cycle"
file = "{file}"
cycle = 1
"""
    _, found = study.run(adjustments=decided)
    peak = _one(found, "peak_current", "Ni-1")
    assert peak.settings["cycle"] == 1
    assert peak.settings["windows"] == "-0.200 to -0.100 V"


def test_air_is_left_to_the_confounders(study: Study) -> None:
    study.electrode("Ni-1", "nickel")
    study.cv("Ni-1", 0.05, 0.0)
    study.cv("Ni-1", 0.05, 1.0)
    aired = study.cv("Ni-1", 0.05, 1.0, solution="aired")
    _, found = study.run()
    assert all(aired not in f.recordings for f in found)


def test_a_bound_layer_and_two_peaks(study: Study) -> None:
    study.electrode("Q-1", "quinone")
    gamma = 2e-6  # mol/m²
    for rate in (0.02, 0.05, 0.1, 0.2):
        for level in (0.0, 1.0):
            p = programme((-0.3, 0.7, -0.3), rate, step=2e-3)
            way = np.gradient(p.potential, p.time)
            i = charging(p.time, p.potential, capacitance=2e-6)
            charge = 96485.33 * AREA * gamma * level
            i = (
                i
                + bound(p.potential, way, formal=0.15, charge=charge)
                + bound(p.potential, way, formal=0.33, charge=charge / 2)
            )
            i = spoiled(i, noise=5e-9, rng=study.rng)
            study._write(
                f"Q_{rate * 1e3:g}_{level:g}", p.time, p.potential, i,
                {"electrode": "Q-1", "technique": "cyclic voltammogram", "solution": "buffer", "concentration": f"{level:g} mmol/L", "scan_rate": f"{rate * 1e3:g} mV/s"},
            )  # fmt: skip
    _, found = study.run(more='peaks = 2\npeak_shape = "bound layer"\n')
    assert _one(found, "control_of_current", "Q-1").text == "bound layer"
    assert _one(found, "surface_coverage", "Q-1").value == pytest.approx(gamma * 1e5 * 1.25, rel=0.3)
    first, second = (_one(found, "peak_current", "Q-1", f"peak {k}") for k in (1, 2))
    assert first.value / second.value == pytest.approx(2.0, rel=0.05)
    assert _one(found, "peak_potential", "Q-1", "peak 2").value == pytest.approx(0.33, abs=3e-3)


def test_a_real_area_from_a_monolayer(study: Study) -> None:
    study.electrode("Au-1", "gold")
    real = 3 * AREA
    for rate in (0.02, 0.05, 0.1, 0.2):
        p = programme((-0.3, 1.2, -0.3), rate, step=2e-3)
        way = np.gradient(p.potential, p.time)
        process = np.exp(-(((p.potential - 1.0) / 0.05) ** 2)) / (0.05 * math.sqrt(math.pi))
        i = charging(p.time, p.potential, capacitance=0.3 * real) + np.where(
            way > 0, 3.9 * real * process * way, 0.0
        )
        i = spoiled(i, noise=2e-9, rng=study.rng)
        study._write(
            f"Au_{rate * 1e3:g}", p.time, p.potential, i,
            {"electrode": "Au-1", "technique": "cyclic voltammogram", "solution": "buffer", "concentration": "0 mmol/L", "scan_rate": f"{rate * 1e3:g} mV/s"},
        )  # fmt: skip
    more = """
[[analysis.voltammetry.monolayers]]
material = "gold"
process = "oxide on gold"
direction = "anodic"
start = "0.8 V"
end = "1.19 V"
"""
    _, found = study.run(more=more)
    area = _one(found, "real_area", "Au-1")
    assert abs(area.value - real * 1e4) < 2 * area.standard_uncertainty
    assert _one(found, "roughness", "Au-1").value == pytest.approx(3.0, rel=0.06)
    assert _one(found, "capacitance_per_real_area", "Au-1").value == pytest.approx(30.0, rel=0.06)
    assert area.settings["charge_density"] == "390 uC/cm^2"
