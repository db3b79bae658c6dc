from __future__ import annotations

import math

import numpy as np
import pytest

from halfcell.constants import thermal_voltage
from halfcell.errors import MethodError
from halfcell.signals.truth import bound, diffusing, programme, spoiled
from halfcell.voltammetry.overlapping import fit_overlapping

P = programme((-0.4, 0.6), 0.05, step=2e-3)
UNIT = 0.4462947 * math.sqrt(0.05 / thermal_voltage())


def _two(gap: float, rng: np.random.Generator, noise: float = 0.005) -> np.ndarray:
    a = diffusing(P.time, P.potential, formal=0.0, amount=1.0) / UNIT
    b = diffusing(P.time, P.potential, formal=gap, amount=0.6) / UNIT
    return spoiled(a + b + 0.1 * P.potential, noise=noise, rng=rng)


@pytest.mark.parametrize("gap", [0.25, 0.12])
def test_two_diffusing_species(gap: float) -> None:
    found = fit_overlapping(P.potential, _two(gap, np.random.default_rng(0)), count=2)
    first, second = found.components
    assert first.height.value == pytest.approx(1.0, abs=max(4 * first.height.u, 0.01))
    assert second.height.value == pytest.approx(0.6, abs=max(4 * second.height.u, 0.01))
    assert first.potential.value == pytest.approx(0.0285, abs=2e-3)
    assert second.potential.value == pytest.approx(gap + 0.0285, abs=2e-3)
    assert first.width.value == pytest.approx(1.0, abs=0.03)


def test_the_number_is_found() -> None:
    rng = np.random.default_rng(1)
    assert len(fit_overlapping(P.potential, _two(0.15, rng)).components) == 2
    one = spoiled(diffusing(P.time, P.potential, formal=0.1, amount=1.0) / UNIT, noise=0.005, rng=rng)
    assert len(fit_overlapping(P.potential, one, most=2).components) == 1


def test_heights_have_honest_intervals() -> None:
    rng = np.random.default_rng(2)
    z = []
    for _ in range(25):
        found = fit_overlapping(P.potential, _two(0.15, rng, 0.02), near=(0.03, 0.18))
        z.append((found.components[1].height.value - 0.6) / found.components[1].height.u)
    assert abs(np.mean(z)) < 0.7
    assert 0.6 < np.std(z) < 1.5


def test_bound_layers_downwards() -> None:
    p = programme((0.5, -0.3), 0.05, step=2e-3)
    i = -(
        bound(p.potential, 0.05, formal=0.2, charge=2e-6) + bound(p.potential, 0.05, formal=0.05, charge=1e-6)
    )
    i = spoiled(i, noise=5e-9, rng=np.random.default_rng(3))
    found = fit_overlapping(p.potential, i, sign=-1, count=2, shape="bound layer")
    assert [round(c.potential.value, 2) for c in found.components] == [0.2, 0.05]
    assert found.components[0].height.value / found.components[1].height.value == pytest.approx(2.0, rel=0.03)


def test_too_few_samples() -> None:
    with pytest.raises(MethodError, match="60 samples"):
        fit_overlapping(np.linspace(0, 1, 30), np.zeros(30), count=3)
