from __future__ import annotations

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.signals.smoothing import smooth


def test_a_wide_window_lowers_the_peak_and_says_so() -> None:
    x = np.linspace(-5, 5, 1001)
    y = 1 / np.cosh(x * 2) ** 2
    little, much = smooth(y, window=11), smooth(y, window=75)
    assert abs(little.height_change) < 1e-4
    assert much.height_change < -0.003
    assert much.width_change > 0.003
    # What is said is what happened: the first pass lowered it by about as much.
    assert much.values.max() - 1 == pytest.approx(much.height_change, rel=0.35)


def test_noise_left() -> None:
    y = np.random.default_rng(0).standard_normal(20_000)
    s = smooth(y, window=21)
    assert np.std(s.values) == pytest.approx(s.noise_left, rel=0.05)


def test_even_window_is_refused() -> None:
    with pytest.raises(MethodError, match="odd"):
        smooth(np.zeros(50), window=10)
