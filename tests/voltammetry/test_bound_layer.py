from __future__ import annotations

import numpy as np
import pytest

from halfcell.constants import FARADAY
from halfcell.signals.truth import bound, spoiled
from halfcell.voltammetry.bound_layer import bound_layer_wave
from halfcell.voltammetry.peak import measure_peak


@pytest.mark.reference(
    "i_p = 938844 n² v A Γ, width 90.579/n mV, Q = nFAΓ",
    "Bard & Faulkner, Electrochemical Methods (from memory); constants recomputed",
    "derived",
)
@pytest.mark.parametrize("n", [1, 2])
def test_coverage_three_ways(n: int) -> None:
    area, gamma, rate = 7.07e-6, 1e-6, 0.1
    e = np.linspace(-0.4, 0.4, 1601)
    i = bound(e, rate, formal=0.0, charge=n * FARADAY * area * gamma, electrons=n)
    assert i.max() == pytest.approx(938844.36 * n * n * rate * area * gamma, rel=1e-6)
    i = spoiled(i, noise=2e-9, rng=np.random.default_rng(0))
    peak = measure_peak(e, i, rate=rate)
    found = bound_layer_wave(peak.charge, peak.height, peak.width, rate=rate, area=area, electrons=n)
    assert found.coverage.value == pytest.approx(gamma, rel=0.02)
    assert found.from_height.value == pytest.approx(gamma, rel=0.02)
    assert found.width_ratio.value == pytest.approx(1.0, abs=0.02)
