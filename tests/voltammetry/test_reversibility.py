from __future__ import annotations

import math

import numpy as np
import pytest

from halfcell.constants import thermal_voltage
from halfcell.errors import MethodError
from halfcell.results import Measured
from halfcell.signals.truth import diffusing, programme
from halfcell.voltammetry.peak import measure_peak
from halfcell.voltammetry.reversibility import (
    electrons_from_half_width,
    judge_couple,
    peak_ratio,
    psi_of_separation,
)

# Nicholson's printed table (psi, n·ΔEp / mV), as typed in the project's list of values.
PRINTED = (
    (20, 61),
    (7, 63),
    (6, 64),
    (5, 65),
    (4, 66),
    (3, 68),
    (2, 72),
    (1, 84),
    (0.75, 92),
    (0.5, 105),
    (0.35, 121),
    (0.25, 141),
    (0.1, 212),
)


@pytest.mark.reference(
    "ψ against n·ΔEp, 13 rows, within 2 mV", "Nicholson, Anal. Chem. 1965, 37, 1351, Table I", "from memory"
)
@pytest.mark.parametrize(("psi", "gap"), PRINTED)
def test_printed_table(psi: float, gap: float) -> None:
    near = [psi_of_separation(min(max(gap + d, 60.3), 210.6) / 1e3) for d in (-2.0, 2.0)]
    assert near[1] <= psi * 1.001
    assert psi <= near[0] * 1.001 or psi >= 7


def test_rate_constant_of_a_simulated_couple() -> None:
    k0, d, rate = 2e-5, 1e-9, 0.1
    p = programme((-0.4, 0.141, -0.4), rate, step=5e-4)
    i = diffusing(p.time, p.potential, formal=0.0, amount=1e-6, rate_constant=k0 / math.sqrt(d))
    n = int(np.argmax(p.potential))
    up = measure_peak(p.potential[:n], i[:n], subtracted=True)
    down = measure_peak(p.potential[n:], i[n:], sign=-1, near=(-0.06, 0.0), baseline="tangent")
    couple = judge_couple(
        up.potential,
        Measured(value=float(p.potential[np.argmin(i)]), u=3e-4),
        ratio=Measured(value=1.0, u=0.01),
        rate=rate,
        diffusion=d,
    )
    assert couple.word == "quasi-reversible"
    assert couple.rate_constant.value == pytest.approx(k0, rel=0.05)
    assert down.height.value > 0


@pytest.mark.reference(
    "ΔE_p of a reversible couple 58.9 mV when reversed 141 mV beyond",
    "computed from the exact integral equation; printed 57 to 60",
    "derived",
)
def test_reversible_couple() -> None:
    p = programme((-0.4, 0.141, -0.4), 0.1, step=2.5e-4)
    i = diffusing(p.time, p.potential, formal=0.0, amount=1e-6)
    gap = p.potential[np.argmax(i)] - p.potential[np.argmin(i)]
    assert gap == pytest.approx(0.0589, abs=5e-4)
    couple = judge_couple(
        Measured(value=0.0285, u=5e-4),
        Measured(value=-0.0304, u=5e-4),
        ratio=Measured(value=1.0, u=0.01),
        rate=0.1,
    )
    assert couple.word == "reversible"
    with pytest.raises(MethodError, match="go faster"):
        psi_of_separation(0.0589)


@pytest.mark.reference(
    "i_pr/i_pf = i_pr0/i_pf + 0.485 i_sp0/i_pf + 0.086 gives 1 for a stable couple",
    "Nicholson, Anal. Chem. 1966, 38, 1406",
    "from memory",
)
@pytest.mark.parametrize("turn", [0.12, 0.2, 0.35])
def test_ratio_of_a_stable_couple_is_one(turn: float) -> None:
    p = programme((-0.4, turn, -0.4), 0.1, step=1e-3)
    i = diffusing(p.time, p.potential, formal=0.0, amount=1.0)
    n = int(np.argmax(p.potential))
    found = peak_ratio(
        Measured(value=-i.min(), u=0.0), Measured(value=i[n], u=0.0), Measured(value=i.max(), u=0.0)
    )
    assert found.value == pytest.approx(1.0, abs=0.03)


def test_electrons_from_the_half_width() -> None:
    gap = 2.20233 * thermal_voltage() / 2
    found = electrons_from_half_width(Measured(value=gap, u=2e-4), Measured(value=0.0, u=2e-4))
    assert found.value == pytest.approx(2.0, rel=1e-6)
    assert found.u > 0
