from __future__ import annotations

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.results import Measured, unknown
from halfcell.signals.branch import branch_of
from halfcell.voltammetry.potential_window import potential_window
from halfcell.voltammetry.scan_rate_check import check_scan_rate

E = np.linspace(-1.0, 1.5, 2501)
CURRENT = 1e-6 * (10 ** ((E - 1.2) / 0.1) - 10 ** ((-0.7 - E) / 0.1))


def test_known_ends() -> None:
    found = potential_window(
        branch_of(E, CURRENT + 1e-8),
        branch_of(E[::-1], CURRENT[::-1] - 1e-8),
        area=1e-5,
        limit=0.1,
        charging=1e-8,
    )
    assert found.high.value == pytest.approx(1.2, abs=1e-3)
    assert found.low.value == pytest.approx(-0.7, abs=1e-3)
    assert found.width.value == pytest.approx(1.9, abs=2e-3)


def test_an_end_that_is_not_reached() -> None:
    found = potential_window(branch_of(E, CURRENT), branch_of(E[::-1], CURRENT[::-1]), area=1e-5, limit=1e4)
    assert not np.isfinite(found.width.value)
    assert "at least 2.50 V" in found.width.why
    with pytest.raises(MethodError):
        potential_window(branch_of(E, CURRENT), branch_of(E[::-1], CURRENT[::-1]), area=0.0, limit=1.0)


def test_scan_rates_that_disagree() -> None:
    assert not check_scan_rate(Measured(value=0.0505, u=1e-5), 0.05).disagrees
    found = check_scan_rate(Measured(value=0.0515, u=1e-5), 0.05)
    assert found.disagrees
    assert found.used == 0.0515
    assert "+3.0 %" in found.note
    assert check_scan_rate(unknown("no time"), 0.05).used == 0.05
    assert check_scan_rate(Measured(value=0.05, u=1e-5), None).used == 0.05
