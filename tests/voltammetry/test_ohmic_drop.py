from __future__ import annotations

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.signals.truth import bound, programme
from halfcell.voltammetry.ohmic_drop import correct_ohmic_drop


def test_a_shifted_wave_comes_back() -> None:
    p = programme((-0.3, 0.3), 0.05, step=1e-3)
    i = bound(p.potential, 0.05, formal=0.0, charge=2e-5)
    recorded = p.potential + i * 2000.0
    found = correct_ohmic_drop(recorded, i, resistance=2000.0)
    np.testing.assert_allclose(found.potential, p.potential, atol=1e-12)
    assert found.largest == pytest.approx(2000 * i.max())
    assert not found.folds


def test_too_high_a_resistance_is_noticed() -> None:
    p = programme((-0.3, 0.3), 0.05, step=1e-3)
    i = bound(p.potential, 0.05, formal=0.0, charge=2e-5)
    found = correct_ohmic_drop(p.potential, i, resistance=20000.0)
    assert found.folds
    assert "backwards" in found.note


def test_a_negative_resistance_is_refused() -> None:
    with pytest.raises(MethodError):
        correct_ohmic_drop([0.0], [0.0], resistance=-1.0)
