from __future__ import annotations

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.voltammetry import power_law

V = np.array([0.01, 0.02, 0.05, 0.1, 0.2, 0.5])


@pytest.mark.parametrize(
    ("b", "word"),
    [(0.5, power_law.DIFFUSION), (1.0, power_law.LAYER), (0.75, power_law.BOTH), (0.3, power_law.SLOWER)],
)
def test_exponent_and_its_meaning(b: float, word: str) -> None:
    i = 3e-6 * V**b * np.exp(0.01 * np.random.default_rng(0).standard_normal(V.size))
    law = power_law.scan_rate_exponent(V, i)
    assert b in law.interval
    assert law.word == word


def test_poor_data_decide_nothing() -> None:
    i = 3e-6 * V**0.75 * np.exp(0.5 * np.random.default_rng(3).standard_normal(V.size))
    assert power_law.scan_rate_exponent(V[:4], i[:4]).word == power_law.OPEN


def test_coverage_of_the_exponent() -> None:
    rng = np.random.default_rng(1)
    inside = sum(
        0.5 in power_law.scan_rate_exponent(V, V**0.5 * np.exp(0.05 * rng.standard_normal(V.size))).interval
        for _ in range(300)
    )
    assert 0.91 <= inside / 300 <= 0.985


def test_parts_of_a_known_mixture() -> None:
    e = np.linspace(0, 1, 50)
    surface, diffusional = 2e-5 * np.exp(-((e - 0.3) ** 2) / 0.01), 3e-6 * e
    i = surface * V[:, None] + diffusional * np.sqrt(V)[:, None]
    parts = power_law.separate_parts(e, i, V, reference=0.1)
    np.testing.assert_allclose(parts.surface, surface, atol=1e-12)
    np.testing.assert_allclose(parts.diffusional, diffusional, atol=1e-12)
    k = 15
    share = diffusional[k] * 0.1**0.5 / (diffusional[k] * 0.1**0.5 + surface[k] * 0.1)
    assert parts.share_at(float(e[k])).value == pytest.approx(share)


def test_trend() -> None:
    assert power_law.catalytic_trend(V, V**0.5 * (1 + 1e-3 * (np.arange(6) % 2))).word == "level"
    assert power_law.catalytic_trend(V, V**0.3).word == "falling"
    assert power_law.catalytic_trend(V, V**0.8).word == "rising"


def test_two_rates_are_too_few() -> None:
    with pytest.raises(MethodError, match="three"):
        power_law.scan_rate_exponent([0.1, 0.2], [1e-6, 2e-6])
