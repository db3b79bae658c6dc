from __future__ import annotations

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.signals.branch import binned, branch_of, interpolated


def test_stairs_are_averaged() -> None:
    e = np.repeat(np.linspace(0, 1, 21), 3)
    i = np.tile([1.0, 2.0, 3.0], 21)
    found = branch_of(e, i)
    assert found.potential.size == 21
    np.testing.assert_allclose(found.current, 2.0)


def test_holes_and_noise_in_the_potential() -> None:
    e = np.linspace(1, 0, 101) + 0.002 * np.random.default_rng(0).standard_normal(101)
    i = np.linspace(0, 1, 101)
    i[[3, 50]] = np.nan
    found = branch_of(e, i)
    assert found.direction == -1
    assert found.potential.size == 99
    assert np.all(np.diff(found.potential) < 0)


def test_interpolation_gives_nan_outside() -> None:
    found = branch_of(np.linspace(1, 0, 11), np.linspace(0, 10, 11))
    np.testing.assert_allclose(interpolated(found, [0.5, 0.25]), [5.0, 7.5])
    assert np.isnan(interpolated(found, [1.5])[0])


def test_bins() -> None:
    x, y, block = binned(np.arange(103.0), np.ones(103), 10)
    assert block == 10
    assert x[0] == 4.5
    assert y.size == 10


def test_too_few() -> None:
    with pytest.raises(MethodError, match="8"):
        branch_of([0, 1, 2], [0, 1, 2])
