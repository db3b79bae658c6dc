from __future__ import annotations

import math

import numpy as np
import pytest

from halfcell.constants import thermal_voltage
from halfcell.errors import MethodError
from halfcell.signals.truth import bound, diffusing, programme, spoiled
from halfcell.voltammetry.peak import measure_peak
from halfcell.voltammetry.response import classify_response

P = programme((-0.5, 0.5), 0.05)
HEIGHT = 0.4462947 * math.sqrt(0.05 / thermal_voltage())


@pytest.mark.reference(
    "E_p - E1/2 = 28.5 mV, E_p/2 - E1/2 = -28.1 mV, i_p 0.4463",
    "Nicholson & Shain, Anal. Chem. 1964, 36, 706 (exact function)",
    "derived",
)
def test_reversible_peak_without_noise() -> None:
    i = diffusing(P.time, P.potential, formal=0.1, amount=1.0) / HEIGHT
    peak = measure_peak(P.potential, i, subtracted=True)
    assert peak.current.value == pytest.approx(1.0, rel=2e-3)
    assert peak.potential.value == pytest.approx(0.1 + 0.02849, abs=5e-4)
    assert peak.half_potential.value == pytest.approx(0.1 - 0.02809, abs=5e-4)


@pytest.mark.parametrize("snr", [10.0, 100.0])
def test_claimed_uncertainty_is_the_real_one(snr: float) -> None:
    rng = np.random.default_rng(11)
    z = {"current": [], "potential": [], "half_potential": []}
    for _ in range(60):
        formal = rng.uniform(-0.05, 0.2)
        i = diffusing(P.time, P.potential, formal=formal, amount=1.0) / HEIGHT
        i = spoiled(i, noise=1 / snr, rho=0.3, drift=0.3 * rng.standard_normal(), rng=rng)
        r = classify_response(P.potential, i)
        peak = measure_peak(P.potential, i, near=(r.at, r.half), returns=False, subtracted=True)
        for name, true in (
            ("current", 1.0),
            ("potential", formal + 0.0284918),
            ("half_potential", formal - 0.0280918),
        ):
            m = getattr(peak, name)
            z[name].append((m.value - true) / m.u)
    for values in z.values():
        assert abs(np.mean(values)) < 0.7
        assert 0.4 < np.std(values) < 1.6
        assert np.mean(np.abs(values) < 2) > 0.85


@pytest.mark.reference(
    "bound couple: width 90.6 mV, charge", "Bard & Faulkner, Electrochemical Methods (from memory)", "derived"
)
def test_bound_layer_uses_both_sides() -> None:
    i = bound(P.potential, 0.05, formal=0.0, charge=2e-6) + 1e-8 * P.potential
    i = spoiled(i, noise=2e-9, rng=np.random.default_rng(0))
    peak = measure_peak(P.potential, i, rate=0.05)
    assert len(peak.baseline.windows) == 2
    assert peak.width.value == pytest.approx(0.0906, abs=3 * peak.width.u + 5e-4)
    assert peak.charge.value == pytest.approx(2e-6, rel=0.01)
    assert peak.asymmetry.value == pytest.approx(1.0, abs=0.05)


def test_a_reduction_is_negative() -> None:
    p = programme((0.5, -0.5), 0.05)
    i = spoiled(
        diffusing(p.time, p.potential, formal=0.0, amount=1.0, oxidation=False),
        noise=1e-3,
        rng=np.random.default_rng(0),
    )
    peak = measure_peak(p.potential, i, sign=-1, subtracted=True)
    assert peak.current.value == pytest.approx(-HEIGHT, rel=0.01)
    assert peak.height.value > 0


def test_a_persons_windows_are_used() -> None:
    i = diffusing(P.time, P.potential, formal=0.1, amount=1.0) + 0.2 * P.potential
    peak = measure_peak(P.potential, i, baseline_windows=[(-0.4, -0.2)])
    assert peak.baseline.windows == ((-0.4, -0.2),)
    assert peak.current.value == pytest.approx(HEIGHT, rel=0.01)


def test_noise_alone_is_refused() -> None:
    y = np.random.default_rng(4).standard_normal(P.time.size) * 1e-9 + P.potential * -1e-6
    with pytest.raises(MethodError):
        measure_peak(P.potential, y)
