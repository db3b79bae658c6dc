from __future__ import annotations

import math

import numpy as np
import pytest

from halfcell.amperometry.anson import anson_charge, fit_anson
from halfcell.amperometry.cottrell import cottrell_current, fit_cottrell
from halfcell.amperometry.microdisk import disk_factor, disk_factor_exact, edge_share
from halfcell.amperometry.steps import sample_steps
from halfcell.amperometry.truth import step_trace

CELL = {"electrons": 1, "area": 0.0707e-4, "concentration": 1.0, "diffusion": 7.6e-10}


@pytest.mark.reference(
    "Cottrell current of a known cell", "Cottrell equation with exact constants", "derived"
)
def test_cottrell_values() -> None:
    i = cottrell_current([0.01, 0.1, 1, 5], **CELL) * 1e6
    assert i == pytest.approx([106.0993, 33.55155, 10.60993, 4.744906], rel=1e-6)


@pytest.mark.reference(
    "Charge after a step of a known cell", "Anson equation with exact constants", "derived"
)
def test_anson_values() -> None:
    q = anson_charge([0.1, 1, 5], **CELL) * 1e6
    assert q == pytest.approx([6.710310, 21.21986, 47.44906], rel=1e-6)


@pytest.mark.reference(
    "Current of a small disk at any time", "Shoup & Szabo, J. Electroanal. Chem. 140 (1982) 237", "recomputed"
)
def test_shoup_szabo() -> None:
    assert disk_factor([0.01, 0.1, 1, 10, 100]) == pytest.approx(
        [5.220694, 2.248898, 1.373629, 1.115152, 1.036078], rel=5e-7
    )


@pytest.mark.reference(
    "Current of a small disk by series", "Mahon & Oldham, Anal. Chem. 77 (2005) 6100", "from memory"
)
def test_mahon_oldham() -> None:
    theta = [0.001, 0.01, 0.1, 0.5, 1, 2, 10, 100]
    printed = [14.804789, 5.237756, 2.247613, 1.525282, 1.366246, 1.256410, 1.113803, 1.035924]
    assert disk_factor_exact(theta) == pytest.approx(printed, rel=5e-7)


def test_edge_share_of_a_disk_at_short_times() -> None:
    theta = 1e-4
    assert edge_share(theta, radius=1.0, diffusion=1.0) == pytest.approx(math.sqrt(math.pi * theta), rel=0.02)


def test_cottrell_line_of_a_clean_step_and_refusal_of_another_shape() -> None:
    rng = np.random.default_rng(1)
    trace = step_trace(rng, duration=5, noise=2e-9)
    found = fit_cottrell(trace.time, trace.current)
    true = cottrell_current([1.0], **CELL)[0]
    assert found.linear
    assert abs(found.slope.value - true) < 4 * found.slope.u
    t = trace.time
    other = 1e-5 * np.exp(-t / 2) + rng.normal(0, 2e-9, t.size)
    assert not fit_cottrell(t, other).linear


def test_anson_slope() -> None:
    trace = step_trace(
        np.random.default_rng(2), duration=5, noise=2e-9, charging=2e-4, time_constant=0.02, rate=500
    )
    found = fit_anson(trace.time, trace.current, start=0.2, steady=True)
    true = anson_charge([1.0], **CELL)[0]
    assert abs(found.slope.value - true) < 4 * found.slope.u
    # 2e-4 A over 0.02 s is 4 µC of charging; the first sample interval is summed, not integrated.
    assert found.intercept.value == pytest.approx(4e-6, rel=0.05)


def test_sampled_current_leaves_the_charging_out() -> None:
    trace = step_trace(np.random.default_rng(3), duration=5, noise=2e-9, charging=1e-4, time_constant=0.05)
    found = sample_steps(trace.time, trace.current)
    true = trace.clean[trace.time - trace.time[0] >= 2.5 - 0.02].mean()
    assert abs(found.current.value - true) < 4 * found.current.u
    assert found.time_constant == pytest.approx(0.05, rel=0.3)
    assert found.charging_share < 1e-6
    assert found.cottrell is not None
    assert found.cottrell.linear


def test_repeated_steps_by_the_potential() -> None:
    rng = np.random.default_rng(4)
    pieces_i, pieces_e = [], []
    for _ in range(3):
        pieces_i += [rng.normal(0, 1e-9, 200), step_trace(rng, duration=4, noise=1e-9).current]
        pieces_e += [np.zeros(200), np.full(200, 0.6)]
    i, e = np.concatenate(pieces_i), np.concatenate(pieces_e)
    found = sample_steps(np.arange(i.size) / 50, i, e)
    assert found.each.size == 3
    assert found.potential == pytest.approx(0.6)
    assert found.duration == pytest.approx(4, abs=0.05)


def test_coverage_of_the_sampled_current() -> None:
    hit, total = 0, 250
    for seed in range(total):
        trace = step_trace(np.random.default_rng(seed + 100), duration=10, rate=20, noise=5e-9, rho=0.6)
        found = sample_steps(trace.time, trace.current)
        since = trace.time - trace.time[0]
        truth = trace.clean[(since >= found.window[0]) & (since <= found.window[1])].mean()
        hit += truth in found.current.interval()
    assert hit / total > 0.915
