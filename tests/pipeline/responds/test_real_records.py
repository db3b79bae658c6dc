"""Voltammetry over real measurements, with the values their authors report or the files plainly hold."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from halfcell.pipeline.responds.voltammogram import branch_in, cycle_used, sweeps
from halfcell.readers import read
from halfcell.recording import Recording
from halfcell.signals.branch import Branch
from halfcell.voltammetry import power_law
from halfcell.voltammetry.peak import measure_peak
from halfcell.voltammetry.response import classify_response
from halfcell.voltammetry.reversibility import peak_ratio
from halfcell.voltammetry.scan_rate_check import check_scan_rate


def _record(folder: Path, name: str) -> Recording:
    return read(folder / name, name=name, hints={})


def _widest(record: Recording, direction: int) -> Branch:
    found = sweeps(record)
    branches = [branch_in(record, found, direction, s.cycle) for s in found.along(direction)]
    return max((b for b in branches if b is not None), key=lambda b: float(np.ptp(b.potential)))


@pytest.mark.reference(
    "peaks of Pt(111) in three electrolytes, six potentials",
    "Strmcnik et al., Nat. Chem. 2010, 2, 880, Figs 1 and 2 (digitised data, values from the file)",
    "seen",
)
@pytest.mark.parametrize(
    ("name", "direction", "window", "potential", "within"),
    [
        ("pt111_0p05M_H2SO4", 1, (0.45, 0.60), 0.526, 0.002),
        ("pt111_0p05M_H2SO4", -1, (0.45, 0.60), 0.519, 0.002),
        ("pt111_0p1M_HClO4", 1, (0.75, 0.85), 0.801, 0.002),
        ("pt111_0p1M_HClO4", -1, (0.75, 0.85), 0.792, 0.002),
        ("pt111_alkaline", 1, (0.70, 0.83), 0.769, 0.006),
        ("pt111_alkaline", -1, (0.70, 0.83), 0.771, 0.006),
    ],
)
def test_platinum_peaks(
    shared_data: Path, name: str, direction: int, window: tuple[float, float], potential: float, within: float
) -> None:
    branch = _widest(_record(shared_data, f"metal_films/{name}.csv"), direction)
    peak = measure_peak(branch.potential, branch.current, sign=direction, window=window, baseline="tangent")
    assert peak.potential.value == pytest.approx(potential, abs=within)
    assert np.sign(peak.current.value) == direction


@pytest.mark.reference(
    "order of halide adsorption on Au(111): KCl 0.206, KBr -0.057, KI -0.480 V; 50 mV/s",
    "Schönig et al., PCCP 2023, 25, 5948, Fig. 1 (data, values from the file)",
    "seen",
)
@pytest.mark.parametrize(
    ("salt", "window", "potential"),
    [("KCl", (0.1, 0.3), 0.206), ("KBr", (-0.15, 0.05), -0.057), ("KI", (-0.55, -0.4), -0.480)],
)
def test_gold_in_halides(shared_data: Path, salt: str, window: tuple[float, float], potential: float) -> None:
    record = _record(shared_data, f"metal_films/au111_film_{salt}.csv")
    rate = check_scan_rate(sweeps(record).scan_rate, 0.05)
    assert not rate.disagrees
    assert rate.measured.value == pytest.approx(0.0499, abs=2e-4)
    branch = _widest(record, 1)
    peak = measure_peak(branch.potential, branch.current, window=window, baseline="tangent")
    assert peak.potential.value == pytest.approx(potential, abs=0.003)


@pytest.mark.reference(
    "ferrocene cycles 2-6: E_pa -0.065, E_pc -0.185 V, ΔE_p 120 mV, i_pa 133.4 to 130.4 µA",
    "Copley & Gibson 2019, open data set, CC BY 4.0 (values from the file)",
    "seen",
)
def test_ferrocene_cycles(shared_data: Path) -> None:
    record = _record(shared_data, "ferrocene_cycles/ferrocene.csv")
    found = sweeps(record)
    chosen = cycle_used(record, found, None)
    assert found.cycles == 6
    assert chosen.cycle == 5  # cycle 6 stops early, cycle 1 begins with a transient
    assert chosen.left_out == (6,)
    assert chosen.changes[0] > 0.1 > chosen.changes[1]
    assert -0.02 < chosen.drift.value < 0.0
    up, down = (branch_in(record, found, d, chosen.cycle) for d in (1, -1))
    assert up is not None
    assert down is not None
    # The sweep begins downwards, after the oxidation of the cycle before.
    assert classify_response(down.potential, down.current, sign=-1).word == "peak"
    oxidation = measure_peak(up.potential, up.current)
    reduction = measure_peak(down.potential, down.current, sign=-1, baseline="tangent")
    assert oxidation.potential.value == pytest.approx(-0.065, abs=0.005)
    assert reduction.potential.value == pytest.approx(-0.185, abs=0.006)
    assert oxidation.potential.value - reduction.potential.value == pytest.approx(0.120, abs=0.008)
    assert oxidation.current.value * 1e6 == pytest.approx(131.0, rel=0.05)
    assert np.isfinite(peak_ratio(reduction.height, oxidation.height, oxidation.height).value)


@pytest.mark.reference(
    "peak potentials and currents at six scan rates; log-log exponent about 0.82",
    "SYWu876/h-BN-Electrochemical-Analysis, authors' peak table, CC BY 4.0",
    "seen",
)
def test_surface_scan_rates(shared_data: Path) -> None:
    with (shared_data / "surface_scan_rates/reported_peak_summary.csv").open(encoding="utf-8-sig") as table:
        reported = list(csv.DictReader(table))
    record = _record(shared_data, "surface_scan_rates/CV_total.csv")
    found = sweeps(record)
    plain, measured = [], []
    for cycle, row in enumerate(reported, start=1):
        branch = branch_in(record, found, 1, cycle)
        assert branch is not None
        peak = measure_peak(branch.potential, branch.current)
        assert peak.potential.value == pytest.approx(float(row["peak_potential_V"]), abs=1e-3)
        plain.append(float(branch.current.max()))
        assert plain[-1] * 1e3 == pytest.approx(float(row["peak_current_mA"]), rel=1e-6)
        assert 0.85 * plain[-1] < peak.height.value < plain[-1]
        measured.append(peak.height.value)
    rates = [float(row["scan_rate_mV_s"]) * 1e-3 for row in reported]
    law = power_law.scan_rate_exponent(rates, plain)
    assert law.exponent.value == pytest.approx(0.82, abs=0.02)
    assert law.word == power_law.BOTH
    assert power_law.scan_rate_exponent(rates, measured).word == power_law.BOTH


@pytest.mark.reference(
    "sweeps of an oxide library: three cycles in one file, single sweeps in the others",
    "jmprzybysz/Research-Data 2024, CC BY 4.0",
    "seen",
)
def test_oxide_library_sweeps(shared_data: Path) -> None:
    record = _record(shared_data, "oxide_library/Co_CV.txt")
    found = sweeps(record)
    assert (found.cycles, len(found.segments)) == (3, 6)
    assert cycle_used(record, found, None).cycle == 3
    single = sweeps(_record(shared_data, "oxide_library/LSV_IrCo4060.txt"))
    assert [(s.direction, round(s.first, 2)) for s in single.segments] == [(1, 1.21)]
    assert not np.isfinite(single.scan_rate.value)
