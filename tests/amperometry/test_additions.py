from __future__ import annotations

import math

import numpy as np
import pytest

from halfcell.amperometry.additions import read_additions
from halfcell.amperometry.truth import additions_trace
from halfcell.errors import MethodError

TIMES = [60.0 + 50 * k for k in range(7)]
LEVELS = np.array([5, 25, 45, 65, 105, 185, 265, 425]) * 1e-9


def _trace(seed: int, **more: float):
    return additions_trace(np.random.default_rng(seed), times=TIMES, levels=LEVELS, duration=420, **more)


def test_steps_are_found_without_a_log() -> None:
    trace = _trace(1, spike=200e-9)
    found = read_additions(trace.time, trace.current)
    assert found.times == pytest.approx(TIMES, abs=2.0)
    assert not any(found.logged)
    assert not found.unseen
    for plateau, level in zip(found.plateaus, LEVELS, strict=True):
        assert abs(plateau.current.value - level) < 4.5 * plateau.current.u


def test_no_step_in_noise() -> None:
    trace = additions_trace(
        np.random.default_rng(2), times=[], levels=[5e-9], duration=420, rho=0.9, drift=2e-12
    )
    with pytest.raises(MethodError, match="No addition was found"):
        read_additions(trace.time, trace.current)


def test_response_time_in_spite_of_injection_spikes() -> None:
    trace = _trace(3, spike=100e-9, time_constant=1.5)
    found = read_additions(trace.time, trace.current, log=TIMES)
    t90 = np.array([m.value for m in found.t90])
    assert np.median(t90) == pytest.approx(1.5 * math.log(10), rel=0.15)


def test_an_addition_that_was_not_made_is_seen() -> None:
    levels = LEVELS.copy()
    levels[4:] -= levels[4] - levels[3]
    trace = additions_trace(np.random.default_rng(4), times=TIMES, levels=levels, duration=420)
    assert read_additions(trace.time, trace.current, log=TIMES).unseen == (3,)


def test_an_addition_that_is_not_in_the_log_is_seen() -> None:
    trace = _trace(5)
    found = read_additions(trace.time, trace.current, log=TIMES[:3] + TIMES[4:])
    assert found.unlogged == pytest.approx([TIMES[3]], abs=2.0)


def test_corrections_by_a_person() -> None:
    trace = _trace(6)
    found = read_additions(
        trace.time, trace.current, log=[*TIMES[:-1], TIMES[-1] - 20], moved=[(TIMES[-1] - 20, TIMES[-1])]
    )
    assert found.times == pytest.approx(TIMES)
    found = read_additions(trace.time, trace.current, log=TIMES[1:], added=[TIMES[0]])
    assert found.times == pytest.approx(TIMES)
    assert found.logged[0] is False
    found = read_additions(trace.time, trace.current, log=[30.0, *TIMES], removed=[30.0])
    assert found.times == pytest.approx(TIMES)


def test_a_log_outside_the_record_is_refused() -> None:
    trace = _trace(7)
    with pytest.raises(MethodError, match="outside the record"):
        read_additions(trace.time, trace.current, log=[*TIMES, 900.0])


def test_time_that_goes_back_is_refused() -> None:
    t = np.arange(100.0)
    t[50] = 10
    with pytest.raises(MethodError, match="does not increase at sample 51"):
        read_additions(t, np.ones(100))
