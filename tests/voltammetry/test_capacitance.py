from __future__ import annotations

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.signals.branch import branch_of
from halfcell.signals.truth import bound, charging, programme, spoiled
from halfcell.voltammetry.capacitance import Loop, measure_capacitance


def _loop(
    rate: float, rng: np.random.Generator, *, power: float = 1.0, wave: float = 0.0, leak: float = 1e-8
) -> Loop:
    p = programme((-0.3, 0.5, -0.3), rate, step=2e-3)
    c = 2e-6 * (rate / 0.05) ** (power - 1)
    i = charging(p.time, p.potential, capacitance=c, resistance=200.0, leak=leak)
    if wave:
        i = i + bound(p.potential, np.gradient(p.potential, p.time), formal=0.1, charge=wave)
    i = spoiled(i, noise=3e-10, rho=0.3, rng=rng)
    n = i.size // 2
    return Loop(up=branch_of(p.potential[:n], i[:n]), down=branch_of(p.potential[n:], i[n:]), rate=rate)


def test_slope_of_a_capacitor() -> None:
    rng = np.random.default_rng(0)
    inside = 0
    for _ in range(40):
        found = measure_capacitance([_loop(v, rng) for v in (0.02, 0.05, 0.1, 0.2)])
        ends = found.capacitance.interval(0.95)
        inside += 2e-6 in ends
        assert found.capacitance.value == pytest.approx(2e-6, rel=0.01)
        assert found.straight
    assert inside >= 33  # binomial(40, 0.95): fewer than 33 has probability 0.2 %


def test_a_power_law_is_noticed() -> None:
    rng = np.random.default_rng(1)
    found = measure_capacitance([_loop(v, rng, power=0.8) for v in (0.02, 0.05, 0.1, 0.2)])
    assert found.exponent.value == pytest.approx(0.8, abs=0.02)
    assert not found.straight
    assert any("not in proportion" in n for n in found.notes)


def test_the_window_keeps_away_from_a_reaction() -> None:
    rng = np.random.default_rng(2)
    found = measure_capacitance([_loop(v, rng, wave=2e-6) for v in (0.02, 0.05, 0.1, 0.2)])
    assert not found.window[0] < 0.1 < found.window[1]
    assert found.capacitance.value == pytest.approx(2e-6, rel=0.05)


def test_a_window_on_a_reaction_is_refused() -> None:
    rng = np.random.default_rng(3)
    with pytest.raises(MethodError, match=r"not\s+even"):
        measure_capacitance([_loop(v, rng, wave=4e-6) for v in (0.02, 0.05, 0.1)], at=0.05)


def test_one_scan_rate_says_what_was_not_tested() -> None:
    found = measure_capacitance([_loop(0.05, np.random.default_rng(4))])
    assert found.capacitance.value == pytest.approx(2e-6, rel=0.01)
    assert "not tested" in found.notes[0]
