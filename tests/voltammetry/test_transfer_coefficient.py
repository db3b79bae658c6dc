from __future__ import annotations

import numpy as np
import pytest

from halfcell.results import Measured
from halfcell.signals.truth import diffusing, programme
from halfcell.voltammetry.peak import measure_peak
from halfcell.voltammetry.transfer_coefficient import alpha_from_half_width, peak_shift


@pytest.mark.reference(
    "|E_p - E_p/2| = 47.7/alpha n mV (1.857 RT/alpha F); dE_p/d ln v = RT/2 alpha F",
    "Nicholson & Shain, Anal. Chem. 1964, 36, 706",
    "derived",
)
@pytest.mark.parametrize("alpha", [0.35, 0.5, 0.65])
def test_alpha_of_simulated_peaks(alpha: float) -> None:
    rates, tops, halves = (0.02, 0.05, 0.1, 0.2), [], []
    for rate in rates:
        p = programme((-0.5, 1.0), rate, step=1e-3)
        i = diffusing(p.time, p.potential, formal=0.0, amount=1e-6, rate_constant=5e-3, alpha=alpha)
        peak = measure_peak(p.potential, i, subtracted=True)
        tops.append(peak.potential)
        halves.append(peak.half_potential)
    shift = peak_shift(rates, [m.value for m in tops])
    assert shift.alpha_n.value == pytest.approx(alpha, rel=0.02)
    for top, half in zip(tops, halves, strict=True):
        assert alpha_from_half_width(top, half).value == pytest.approx(alpha, rel=0.02)


def test_a_peak_that_stands_still_gives_no_alpha() -> None:
    shift = peak_shift([0.02, 0.05, 0.1, 0.2], np.array([0.2, 0.2002, 0.1999, 0.2001]))
    assert not shift.moves
    assert not np.isfinite(shift.alpha_n.value)


def test_half_width_of_a_reduction() -> None:
    found = alpha_from_half_width(Measured(value=-0.5, u=1e-3), Measured(value=-0.4046, u=1e-3))
    assert found.value == pytest.approx(0.5, rel=0.01)
