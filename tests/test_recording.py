"""Turning a recording towards oxidation positive, and what stays as it is."""

from __future__ import annotations

import numpy as np
import pytest

from halfcell.recording import Recording
from halfcell.results import read_only


def made(**more: object) -> Recording:
    values = {
        "file": "a.csv",
        "sha256": "0",
        "current": read_only([1e-6, -2e-6]),
        "extra": {},
        "assumed": ("said before",),
    }
    return Recording(**{**values, **more})  # type: ignore[arg-type]


def test_nothing_to_do_gives_the_same_recording() -> None:
    recording = made()
    assert recording.oriented(negative=False, area=1e-6) is recording


def test_the_sign_is_turned_once_and_said() -> None:
    turned = made(forward=read_only([3.0, 4.0]), potential=read_only([0.1, 0.2])).oriented(
        negative=True, area=None
    )
    np.testing.assert_array_equal(turned.current, [-1e-6, 2e-6])
    np.testing.assert_array_equal(turned.forward, [-3.0, -4.0])
    np.testing.assert_array_equal(turned.potential, [0.1, 0.2])
    assert turned.backward is None
    assert turned.assumed[0] == "said before"
    assert "oxidation" in turned.assumed[1]
    with pytest.raises(ValueError, match="read-only"):
        turned.current[0] = 0


def test_a_density_times_the_area_is_a_current() -> None:
    turned = made(per_area=True).oriented(negative=True, area=7e-6)
    np.testing.assert_allclose(turned.current, [-7e-12, 14e-12])
    assert not turned.per_area
    assert turned.oriented(negative=False, area=7e-6) is turned
