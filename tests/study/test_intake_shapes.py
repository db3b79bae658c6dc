from __future__ import annotations

import numpy as np
import pytest

from halfcell.recording import Recording
from halfcell.results import read_only
from halfcell.study.intake_shapes import shape_of, turning_points


def record(**columns: np.ndarray) -> Recording:
    return Recording(
        file="x", sha256="", extra={}, **{name: read_only(values) for name, values in columns.items()}
    )


def triangle(cycles: float, rate: float, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    time = np.arange(0, cycles * 1.6 / rate, 0.002 / rate)
    phase = (time * rate) % 1.6
    potential = np.where(phase < 0.8, phase, 1.6 - phase)
    return time, potential + rng.normal(0, 2e-4, time.size)


@pytest.mark.parametrize("cycles", [1, 2, 5])
def test_cyclic_voltammogram(cycles: int) -> None:
    rng = np.random.default_rng(1)
    time, potential = triangle(cycles, 0.05, rng)
    shape = shape_of(record(time=time, potential=potential, current=potential * 1e-6))
    assert shape.technique == "cyclic voltammogram"
    assert shape.cycles == cycles
    assert shape.scan_rate == pytest.approx(0.05, rel=0.02)


def test_a_voltammogram_that_starts_in_the_middle_has_one_cycle() -> None:
    up, down, back = np.linspace(0, 0.5, 51), np.linspace(0.5, -0.5, 101), np.linspace(-0.5, 0, 51)
    potential = np.concatenate([up, down[1:], back[1:]])
    assert shape_of(record(potential=potential, current=potential)).cycles == 1


def test_linear_sweep_with_noise() -> None:
    rng = np.random.default_rng(2)
    potential = np.linspace(-0.2, 0.9, 400) + rng.normal(0, 3e-3, 400)
    shape = shape_of(record(potential=potential, current=potential))
    assert shape.technique == "linear sweep"
    assert np.isnan(shape.scan_rate)


def test_steps_of_the_potential() -> None:
    time = np.arange(400) * 0.1
    potential = np.where(time < 10, 0.0, 0.6)
    current = np.where(time < 10, 0.0, 1e-6 / np.sqrt(np.maximum(time - 9.9, 0.1)))
    shape = shape_of(record(time=time, potential=potential, current=current))
    assert shape.technique == "potential step"
    assert shape.held_at == pytest.approx(0.6)


def test_additions_at_a_held_potential() -> None:
    rng = np.random.default_rng(3)
    time = np.arange(4000) * 0.1
    current = 1e-7 * np.floor(time / 50) + rng.normal(0, 5e-9, time.size)
    shape = shape_of(record(time=time, potential=np.full(time.size, -0.65), current=-current))
    assert shape.technique == "additions"
    assert shape.held_at == pytest.approx(-0.65)


def test_a_decay_without_potential_is_a_step() -> None:
    time = np.arange(1, 401) * 0.05
    assert shape_of(record(time=time, current=1e-6 / np.sqrt(time))).technique == "potential step"


def test_forward_and_backward_currents_are_a_pulse_record() -> None:
    potential = np.linspace(0, 1, 50)
    shape = shape_of(record(potential=potential, current=potential, forward=potential, backward=-potential))
    assert shape.technique == "square wave"


def test_turning_points_against_a_plain_count() -> None:
    wave = np.sin(np.linspace(0, 7 * np.pi, 2000) + 0.3)
    plain = int(np.count_nonzero(np.diff(np.sign(np.diff(wave)))))
    assert len(turning_points(wave, 0.1)) == plain
