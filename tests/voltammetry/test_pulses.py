from __future__ import annotations

import math

import numpy as np
import pytest

from halfcell.constants import thermal_voltage
from halfcell.errors import MethodError
from halfcell.signals.truth import diffusing, spoiled
from halfcell.voltammetry.pulses import analyse_pulses, net_current, reversible_width

N = 8  # solver steps in half a period
TP = 5e-3


def _square_wave(
    amplitude: float, step: float, rate_constant: float = math.inf
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Base potentials, forward and backward currents of a square wave on a staircase, sampled at the ends of the halves."""
    base = np.arange(-0.35, 0.35, step)
    e = np.repeat(base, 2 * N) + amplitude * np.tile(np.repeat([1.0, -1.0], N), base.size)
    t = np.arange(e.size) * TP / N
    i = diffusing(t, e, formal=0.0, amount=1.0, rate_constant=rate_constant)
    halves = i.reshape(-1, 2, N)[:, :, -1]
    return base, halves[:, 0], halves[:, 1]


@pytest.mark.reference(
    "net peak of a reversible square wave at E1/2; ψ_p about 0.93 for nE_sw = 50 mV, nΔE_s = 10 mV",
    "Osteryoung & O'Dea, Electroanalytical Chemistry 14 (1986)",
    "from memory",
)
def test_reversible_square_wave() -> None:
    _, forward, backward = _square_wave(0.05, 0.010)
    net = net_current(forward, backward)
    assert net.max() * math.sqrt(math.pi * TP) == pytest.approx(0.93, abs=0.05)
    fine, forward, backward = _square_wave(0.05, 0.004)
    rng = np.random.default_rng(0)
    forward, backward = (spoiled(y, noise=0.02, rng=rng) for y in (forward, backward))
    found = analyse_pulses(
        fine,
        net_current(forward, backward),
        kind="square wave",
        pulse=0.05,
        forward=forward,
        backward=backward,
    )
    assert found.half_wave.value == pytest.approx(0.0, abs=4e-3)
    assert found.separation.value < 0.012
    assert found.balance.value > 0.5


def test_slow_transfer_is_seen_in_the_backward_current() -> None:
    e, forward, backward = _square_wave(0.025, 0.004, rate_constant=0.05)
    found = analyse_pulses(
        e, net_current(forward, backward), kind="square wave", pulse=0.025, forward=forward, backward=backward
    )
    assert found.balance.value < 0.5


@pytest.mark.reference(
    "width 90.4/n mV for a small pulse (3.52 RT/nF)",
    "Parry & Osteryoung, Anal. Chem. 1965, 37, 1634",
    "from memory",
)
def test_width_of_a_small_pulse() -> None:
    assert reversible_width(1e-4) == pytest.approx(3.5255 * thermal_voltage(), rel=1e-4)
    assert reversible_width(1e-4, electrons=2) == pytest.approx(reversible_width(1e-4) / 2, rel=1e-3)
    assert reversible_width(0.1) > 1.2 * reversible_width(0.001)


def test_differential_pulse_corrects_half_a_pulse() -> None:
    e = np.linspace(-0.3, 0.3, 301)
    a, x = 0.05 / 2 / thermal_voltage(), (e + 0.025) / thermal_voltage()
    i = 1e-6 * np.sinh(a) / (np.cosh(a) + np.cosh(x))
    i = spoiled(i, noise=2e-9, rng=np.random.default_rng(1))
    found = analyse_pulses(e, i, pulse=0.05)
    assert found.half_wave.value == pytest.approx(0.0, abs=2e-3)
    assert found.width_ratio.value == pytest.approx(1.0, abs=0.03)
    assert "not stated" in analyse_pulses(e, i).notes[0]


def test_unequal_lengths() -> None:
    with pytest.raises(MethodError):
        net_current([1.0, 2.0], [1.0])
