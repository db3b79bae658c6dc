from __future__ import annotations

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.signals.branch import branch_of
from halfcell.voltammetry.background import subtract_blank

E = np.linspace(-0.3, 0.7, 801)


def test_difference_and_its_noise() -> None:
    rng = np.random.default_rng(0)
    blank = branch_of(E[::2] + 3e-4, 1e-7 * np.ones(401) + 3e-9 * rng.standard_normal(401))
    signal = 1e-6 * np.exp(-(((E - 0.2) / 0.1) ** 2))
    sample = branch_of(E, 1e-7 + signal + 4e-9 * rng.standard_normal(E.size))
    found = subtract_blank(sample, blank)
    assert found.noise == pytest.approx(5e-9, rel=0.15)
    assert found.lost <= 1
    np.testing.assert_allclose(found.difference, np.interp(found.potential, E, signal), atol=3e-8)


def test_falling_branches_and_unequal_rates() -> None:
    blank, sample = branch_of(E[::-1], -1e-7 * np.ones(E.size)), branch_of(E[::-1], -1.2e-7 * np.ones(E.size))
    found = subtract_blank(sample, blank, rates=(0.06, 0.05))
    assert found.stretch == pytest.approx(1.2)
    assert "multiplied by 1.200" in found.note
    np.testing.assert_allclose(found.difference, 0.0, atol=1e-12)


def test_refusals() -> None:
    up, down = branch_of(E, E), branch_of(E[::-1], E)
    with pytest.raises(MethodError, match="directions"):
        subtract_blank(up, down)
    with pytest.raises(MethodError, match="too far apart"):
        subtract_blank(up, up, rates=(0.1, 0.05))
    with pytest.raises(MethodError, match="less than half"):
        subtract_blank(up, branch_of(E + 0.8, E))
