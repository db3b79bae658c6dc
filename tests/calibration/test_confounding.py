from __future__ import annotations

import math

import numpy as np
import pytest

from halfcell.calibration.confounding import confounding
from halfcell.errors import MethodError


def _set(
    rng: np.random.Generator, slope_with: float = 2.0, offset: float = 0.3
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    x = np.tile(np.linspace(0, 1, 6), 2)
    z = np.repeat([0.0, 1.0], 6)
    y = 0.1 + np.where(z > 0, slope_with * x + offset, 2.0 * x) + 0.02 * rng.normal(size=12)
    return x, z, y


def test_coverage_of_the_equivalent_level_and_rate_of_false_alarms() -> None:
    rng = np.random.default_rng(1)
    hit = alarm = 0
    for _ in range(2000):
        found = confounding(*_set(rng))
        hit += 0.15 in found.equivalent.interval
        alarm += found.p_additive < 0.05
    assert 0.935 < hit / 2000 < 0.965
    assert 0.035 < alarm / 2000 < 0.065


def test_another_slope_with_it_is_seen() -> None:
    found = confounding(*_set(np.random.default_rng(2), slope_with=1.5))
    assert found.p_additive < 1e-3
    assert found.slope_ratio is not None
    assert 0.75 in found.slope_ratio.interval
    assert found.sensitivity.value == pytest.approx(2.0, abs=0.1)


def test_a_blank_alone_suffices_but_leaves_additivity_untested() -> None:
    x, z, y = _set(np.random.default_rng(3))
    found = confounding(x[:7], z[:7], y[:7])
    assert math.isnan(found.p_additive)
    assert found.points_with == 1
    assert 0.15 in found.equivalent.interval


def test_refusals() -> None:
    x, z, y = _set(np.random.default_rng(4))
    with pytest.raises(MethodError, match="three points at two levels without"):
        confounding(x[6:], z[6:], y[6:])
    with pytest.raises(MethodError, match="with the confounder present"):
        confounding(x[:6], z[:6], y[:6])
