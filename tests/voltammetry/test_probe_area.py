"""The area by a couple of known kinetics: truth from the integral equation of diffusion, the noise known too."""

from __future__ import annotations

import functools
import math

import numpy as np
import pytest

from halfcell.constants import FARADAY
from halfcell.errors import MethodError
from halfcell.results import Measured
from halfcell.signals.truth import diffusing, programme
from halfcell.voltammetry.probe_area import ProbeArea, Separation, area_by_probe, separations
from halfcell.voltammetry.randles_sevcik import quasi_reversible_factor

AREA, DIFFUSION, CONCENTRATION = 9.2e-6, 1e-9, 2.0
RATES, REVERSAL = (0.02, 0.05, 0.1, 0.2), 0.4
ALPHAS = (0.42, 0.46, 0.5, 0.54, 0.58)
"""The middles of fifths of 0.4 to 0.6."""
NOISES = ((3e-4, 0.002), (1e-3, 0.005), (3e-3, 0.01))
"""Standard deviations of a peak potential (V) and, relative, of a height."""
SPEEDS = (1e-3, 5e-4, 2e-4, 1e-4, 5e-5)


@functools.cache
def truth(k0: float, alpha: float) -> tuple[np.ndarray, np.ndarray]:
    """Heights (A) and separations (V) without noise."""
    heights, gaps = [], []
    for rate in RATES:
        p = programme((-0.25, REVERSAL, -0.3), rate, step=1e-3)
        amount = FARADAY * AREA * CONCENTRATION * math.sqrt(DIFFUSION)
        i = diffusing(p.time, p.potential, formal=0.0, amount=amount, rate_constant=k0 / math.sqrt(DIFFUSION), alpha=alpha)  # fmt: skip
        turn = int(np.argmax(p.potential))
        out, home = _top(p.potential[:turn], i[:turn]), _top(p.potential[turn:], -i[turn:])
        heights.append(i.max())
        gaps.append(out - home)
    return np.array(heights), np.array(gaps)


def _top(e: np.ndarray, i: np.ndarray) -> float:
    k = int(np.argmax(i))
    curve = np.polyfit(e[k - 4 : k + 5] - e[k], i[k - 4 : k + 5], 4)
    fine = np.linspace(-2e-3, 2e-3, 401)
    return float(e[k] + fine[np.argmax(np.polyval(curve, fine))])


def measured(k0: float, alpha: float, noise: tuple[float, float], rng: np.random.Generator) -> ProbeArea:
    heights, gaps = truth(k0, alpha)
    u = math.sqrt(2) * noise[0]
    seen = gaps + u * rng.standard_normal(gaps.size)
    return area_by_probe(
        RATES,
        heights * (1 + noise[1] * rng.standard_normal(heights.size)),
        [
            Separation(gap=Measured(value=float(g), u=u), rate=v, reversal=REVERSAL)
            for g, v in zip(seen, RATES, strict=True)
        ],
        electrons=1,
        concentration=CONCENTRATION,
        diffusion=Measured(value=DIFFUSION * (1 + 0.01 * rng.standard_normal()), u=0.01 * DIFFUSION),
    )


@pytest.mark.slow
def test_the_area_has_no_bias_and_its_interval_holds_it() -> None:
    """Any speed and any noise; with 1,000 records a cell the bias was at most 0.12 u and the coverage 93 to 98 %.

    Where alpha, even from 0.4 to 0.6, is most of the uncertainty (k0 of 1e-4 m/s and less), it was up to 99 %.
    """
    held = []
    for k0 in SPEEDS:
        for noise in NOISES:
            rng = np.random.default_rng([20, round(1e6 * k0), round(1e5 * noise[0])])
            found = [measured(k0, float(rng.choice(ALPHAS)), noise, rng).area for _ in range(100)]
            off = np.mean([a.value - AREA for a in found]) / np.mean([a.u for a in found])
            assert abs(off) < 1 / 3, (k0, noise, off)
            inside = [AREA in a.interval(0.95) for a in found]
            assert np.mean(inside) >= 0.88, (k0, noise)
            held += inside
    assert 0.92 < np.mean(held) < 0.98


@pytest.mark.parametrize("k0", [1e-3, 5e-4, 5e-5])
def test_the_speed_is_found_from_all_separations(k0: float) -> None:
    rng = np.random.default_rng(3)
    slow = [measured(k0, 0.5, NOISES[1], rng).slowness for _ in range(60)]
    mean, error = np.mean([s.value for s in slow]), np.std([s.value for s in slow]) / math.sqrt(60)
    assert mean == pytest.approx(1 / k0, abs=3 * error)
    assert np.mean([s.u for s in slow]) == pytest.approx(error * math.sqrt(60), rel=0.35)


def test_a_fast_couple_is_called_so_and_its_slowest_speed_is_told() -> None:
    found = measured(math.inf, 0.5, NOISES[1], np.random.default_rng(1))
    assert found.word == "reversible"
    assert math.isnan(found.rate_constant.value)
    assert found.slowest > 1e-3
    assert found.area.value == pytest.approx(AREA, rel=0.03)
    middling = measured(1e-4, 0.5, NOISES[0], np.random.default_rng(1))
    assert middling.word == "quasi-reversible"
    assert middling.rate_constant.value == pytest.approx(1e-4, rel=0.1)


@pytest.mark.reference(
    "ΔE_p of a reversible couple by the reversal beyond E½ + 28.5 mV: 60.5 (71.5), 59.2 (121.5), 58.3 (171.5), 57.8 (221.5), 57.5 mV (271.5)",
    "Bard & Faulkner, Electrochemical Methods, 2nd ed., table 6.5.1",
    "from memory",
)
@pytest.mark.parametrize(("beyond", "gap"), [(71.5, 60.5), (121.5, 59.2), (171.5, 58.3), (221.5, 57.8), (271.5, 57.5)])  # fmt: skip
def test_the_separation_of_a_reversible_couple_follows_the_reversal(beyond: float, gap: float) -> None:
    slow, curve = separations(round((beyond + 28.5) / 1e3, 2))
    assert slow[0] == 0
    assert curve[0] * 1e3 == pytest.approx(gap, abs=0.5)


def test_the_curves_are_those_of_the_integral_equation() -> None:
    for k0 in (5e-4, 5e-5):
        speed = k0 / np.sqrt(math.pi * DIFFUSION * np.array(RATES) * 96485.332 / (8.314463 * 298.15))
        slow, curve = separations(REVERSAL, 0.46)
        assert np.interp(1 / speed, slow, curve) == pytest.approx(truth(k0, 0.46)[1], abs=2.5e-4)


def test_the_current_function_goes_on_without_a_step() -> None:
    near = [quasi_reversible_factor(s) for s in (59.9, 60.1, 120.0)]
    assert near[1] - near[0] == pytest.approx(0, abs=1e-4)
    assert 1 - near[2] == pytest.approx((1 - near[0]) / 2, rel=0.02)


@pytest.mark.parametrize(
    "gap", [Measured(value=0.06, u=0.2), Measured(value=0.06), Measured(value=0.25, u=1e-3)]
)
def test_a_speed_that_is_not_known_is_refused(gap: Measured) -> None:
    couples = [Separation(gap=gap, rate=0.1, reversal=0.3)]
    with pytest.raises(MethodError, match="says nothing of how fast"):
        area_by_probe(RATES, np.sqrt(RATES), couples, electrons=1, concentration=1.0, diffusion=Measured(value=1e-9))  # fmt: skip


def test_peaks_closer_than_diffusion_allows_are_told() -> None:
    couples = [Separation(gap=Measured(value=0.03, u=1e-3), rate=v, reversal=0.3) for v in RATES]
    found = area_by_probe(RATES, np.sqrt(RATES), couples, electrons=1, concentration=1.0, diffusion=Measured(value=1e-9))  # fmt: skip
    assert "closer together than diffusion allows" in found.note
    assert found.roots == pytest.approx(np.sqrt(RATES))
    assert found.area.u > 0.05 * found.area.value
