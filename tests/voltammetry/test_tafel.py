from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest

from halfcell.constants import thermal_voltage
from halfcell.errors import MethodError
from halfcell.signals.truth import spoiled
from halfcell.voltammetry.tafel import Tafel, tafel

EXCHANGE = 1e-6


def butler_volmer(e: np.ndarray, alpha: float, temperature: float = 298.15) -> np.ndarray:
    """Current in A at overpotentials in V, alpha that of the oxidation, one electron in the reverse reaction."""
    f = 1 / thermal_voltage(temperature)
    back = max(1 - alpha, 0.1)
    return EXCHANGE * (np.exp(alpha * f * e) - np.exp(-back * f * e))


@pytest.mark.reference(
    "118.3187 mV/decade for alpha 0.5, 59.1593 (1), 39.4396 (1.5), 29.5797 (2), 197.1978 (0.3); 123.0808 for 0.5 at 37 °C",
    "2.303 RT/(alpha F) with the CODATA 2018 constants",
    "derived",
)
@pytest.mark.parametrize(
    ("alpha", "temperature", "expected"),
    [
        (0.5, 298.15, 118.3187),
        (1.0, 298.15, 59.1593),
        (1.5, 298.15, 39.4396),
        (2.0, 298.15, 29.5797),
        (0.3, 298.15, 197.1978),
        (0.5, 310.15, 123.0808),
    ],
)
def test_slopes_of_butler_volmer_currents(alpha: float, temperature: float, expected: float) -> None:
    e = np.arange(0.4, 0.6, 0.001)
    for sign in (1, -1):
        i = sign * butler_volmer(e, alpha, temperature)
        found = tafel(sign * e, i, window=(sign * 0.4, sign * 0.6), sign=sign, equilibrium=0.0, temperature=temperature)  # fmt: skip
        assert found.slope.value * 1e3 == pytest.approx(expected, abs=2e-3)
        assert found.alpha_n.value == pytest.approx(alpha, rel=2e-5)
        assert found.exchange.value == pytest.approx(EXCHANGE, rel=1e-3)


@pytest.mark.parametrize("rho", [0.0, 0.8])
def test_the_interval_holds_the_truth_and_a_straight_line_is_straight(rho: float) -> None:
    rng = np.random.default_rng(7)
    e = np.arange(0.2, 0.4, 0.001)
    i = butler_volmer(e, 0.5)
    held, bent, exchange = 0, 0, 0
    for _ in range(300):
        noise = spoiled(np.zeros(e.size), noise=0.02, rho=rho, rng=rng)
        found = tafel(e, i * (1 + noise), decades=(1.3 * i[0], 0.8 * i[-1]), equilibrium=0.0)
        held += found.interval.low <= 0.1183187 <= found.interval.high
        bent += not found.straight
        span = found.exchange.interval(0.95)
        exchange += span.low <= EXCHANGE <= span.high
    assert held >= 0.89 * 300
    assert exchange >= 0.89 * 300
    assert bent <= 0.12 * 300


def test_the_reverse_reaction_and_a_resistance_bend_the_line() -> None:
    rng = np.random.default_rng(3)
    e = np.arange(0.0, 0.4, 0.001)
    i = butler_volmer(e, 0.5)
    noisy = i * (1 + 0.01 * rng.standard_normal(e.size))
    near = tafel(e, noisy, window=(0.02, 0.12))
    assert not near.straight
    assert "the line is bent" in near.note
    dropped = tafel(e + 40.0 * i, noisy, window=(0.2, 0.45))
    assert not dropped.straight
    assert dropped.curvature.value > 0
    right = tafel(e, noisy, window=(0.2, 0.35))
    assert right.straight
    assert "0.200 to 0.350 V, 1.2" in right.note


def test_refusals_say_what_is_wrong() -> None:
    e = np.arange(0.0, 0.4, 0.001)
    i = butler_volmer(e, 0.5)
    with pytest.raises(MethodError, match="depends on its window"):
        tafel(e, i)
    with pytest.raises(MethodError, match="depends on its window"):
        tafel(e, i, window=(0.2, 0.3), decades=(1e-6, 1e-5))
    with pytest.raises(MethodError, match="lie 0 samples"):
        tafel(e, -i, window=(0.2, 0.3))
    with pytest.raises(MethodError, match=r"needs 0\.2 decades: 0\.200 to 0\.210 V, 0\.08"):
        tafel(e, i, window=(0.2, 0.21))
    with pytest.raises(MethodError, match="does not grow"):
        tafel(e, i[::-1], window=(0.1, 0.3))
    with pytest.raises(MethodError, match="one length"):
        tafel(e, i[:-1], window=(0.1, 0.3))
    unknown = tafel(e, i, window=(0.2, 0.3)).exchange
    assert math.isnan(unknown.value)
    assert "equilibrium" in unknown.why


def _sweep(folder: Path, name: str, decades: tuple[float, float]) -> Tafel:
    """Potential in V against the reversible hydrogen electrode, the last column in mA/cm²; above 1.35 V."""
    columns = np.genfromtxt(folder / f"oxide_library/{name}.txt", delimiter="\t", skip_header=3)
    rising = columns[:, 0] > 1.35
    return tafel(columns[rising, 0], columns[rising, 4], decades=decades)


@pytest.mark.reference(
    "44.05 ± 2.61, 57.38 ± 15.7, 90.52 ± 9.1 mV/decade at 0, 40 and 100 % Co, means of several spots",
    "jmprzybysz/Research-Data 2024, CC BY 4.0 (Tafel_slopes.txt; the window is not stated there)",
    "seen",
)
def test_oxide_library(shared_data: Path) -> None:
    with (shared_data / "oxide_library/Tafel_slopes.txt").open(encoding="utf-8") as table:
        rows = {float(r[0]): (float(r[2]), float(r[3])) for r in list(csv.reader(table, delimiter="\t"))[3:]}
    spots = {"LSV_Ir": rows[0.0], "LSV_IrCo4060": rows[40.0], "LSV_Co": rows[100.0]}
    assert spots["LSV_Co"] == pytest.approx((90.52, 9.09), abs=0.01)
    # One window for all, 0.5 to 5 mA/cm²: within the published scatter for the two with cobalt; the spot
    # without is 3.8 mV/decade lower than the mean of its kind, 1.4 times the scatter.
    found = {name: _sweep(shared_data, name, (0.5, 5.0)) for name in spots}
    away = {n: (found[n].slope.value * 1e3 - mean) / sd for n, (mean, sd) in spots.items()}
    assert abs(away["LSV_IrCo4060"]) < 1
    assert abs(away["LSV_Co"]) < 1
    assert away["LSV_Ir"] == pytest.approx(-1.44, abs=0.1)
    # From 2 to 20 mA/cm² it is within the scatter, but there the line is bent, and said to be.
    higher = _sweep(shared_data, "LSV_Ir", (2.0, 20.0))
    assert abs(higher.slope.value * 1e3 - spots["LSV_Ir"][0]) < spots["LSV_Ir"][1]
    assert found["LSV_Ir"].straight
    assert not higher.straight
    # The window matters more than any uncertainty of a fit.
    wide = _sweep(shared_data, "LSV_Co", (1.0, 10.0))
    assert wide.slope.value > 1.2 * found["LSV_Co"].slope.value
    assert "the line is bent" in wide.note
