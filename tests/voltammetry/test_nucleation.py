from __future__ import annotations

import math

import numpy as np
import pytest

from halfcell.constants import FARADAY
from halfcell.errors import MethodError
from halfcell.signals.noise import correlated
from halfcell.voltammetry.nucleation import INSTANTANEOUS, PROGRESSIVE, fit_nucleation, shape

T = np.linspace(0.02, 20, 1000)
Z, AREA, C, M, RHO, D = 2, 7e-6, 5.0, 58.693e-3, 8908.0, 0.7e-9


def _transient(
    kind: str, rng: np.random.Generator, noise: float = 0.005
) -> tuple[np.ndarray, float, float, float]:
    at = 4.0
    power = 1 if kind == INSTANTANEOUS else 2
    b = 1.25643 / at if power == 1 else 2.33668 / at**2
    a = Z * FARADAY * AREA * C * math.sqrt(D / math.pi)
    growth = shape(T, a, b, power)
    top = growth.max()
    i = growth + 0.4 * top * np.exp(-T / 0.15) + 0.03 * top + correlated(T.size, noise * top, 0.4, rng)
    return -i, a, b, top


@pytest.mark.parametrize("kind", [INSTANTANEOUS, PROGRESSIVE])
def test_told_apart_beside_charging_and_background(kind: str) -> None:
    rng = np.random.default_rng(0)
    for _ in range(6):
        i, *_ = _transient(kind, rng, 0.02)
        found = fit_nucleation(T, i)
        assert found.word == kind
        assert found.clear
        assert not found.neither


def test_density_and_diffusion_with_honest_intervals() -> None:
    rng = np.random.default_rng(1)
    inside = {"d": 0, "n": 0}
    k = math.sqrt(8 * math.pi * C * M / RHO)
    for _ in range(30):
        i, _, b, _ = _transient(INSTANTANEOUS, rng)
        found = fit_nucleation(T, i, electrons=Z, area=AREA, concentration=C, molar_mass=M, density=RHO)
        inside["d"] += D in found.diffusion.interval(0.95)
        inside["n"] += b / (math.pi * k * D) in found.density.interval(0.95)
    assert min(inside.values()) >= 24  # binomial(30, 0.95): fewer than 24 has probability 0.03 %


@pytest.mark.reference(
    "i_m² t_m = 0.1629 D (zFc)² A² instantaneous, 0.2598 progressive",
    "Scharifker & Hills, Electrochim. Acta 1983, 28, 879",
    "from memory",
)
@pytest.mark.parametrize(("kind", "constant"), [(INSTANTANEOUS, 0.1629), (PROGRESSIVE, 0.2598)])
def test_product_of_the_maximum(kind: str, constant: float) -> None:
    i, a, _, _ = _transient(kind, np.random.default_rng(2), 1e-4)
    found = fit_nucleation(T, i)
    assert found.product / (a * math.sqrt(math.pi)) ** 2 == pytest.approx(constant, rel=0.02)


def test_a_decay_alone_is_refused_or_seen_as_neither() -> None:
    with pytest.raises(MethodError, match="30 samples"):
        fit_nucleation(T[:10], T[:10])
