from __future__ import annotations

import numpy as np
import pytest

from halfcell.calibration.standard_addition import standard_addition
from halfcell.calibration.stock import by_absorbance, by_titration, decayed, diluted
from halfcell.calibration.unknowns import read_content, recovery
from halfcell.errors import MethodError
from halfcell.results import Measured
from halfcell.statistics.line import fit_line

X = [0, 2, 4, 6, 8, 10, 12]
Y = [2.1, 5.0, 9.0, 12.6, 17.3, 21.0, 24.7]


@pytest.mark.reference(
    "Content of a sample from four readings", "Miller & Miller, ch. 5, fluorescein", "recomputed"
)
def test_content() -> None:
    found = read_content(fit_line(X, Y), [13.5] * 4)
    assert found.content.value == pytest.approx(6.207216, abs=1e-6)
    assert found.content.u == pytest.approx(0.140613, abs=1e-6)
    assert found.simple
    assert found.verdict == "read"


def test_verdicts_and_refusal_to_extrapolate_far() -> None:
    line = fit_line(X, Y)
    assert read_content(line, [1.6], decision_limit=0.5).verdict == "below the decision limit"
    assert read_content(line, [26.0]).verdict == "above the highest level"
    with pytest.raises(MethodError, match="dilute it"):
        read_content(line, [50.0])


def test_coverage_of_a_content() -> None:
    rng = np.random.default_rng(1)
    x = np.linspace(0, 1, 6)
    hit = 0
    for _ in range(2000):
        line = fit_line(x, 0.2 + x + 0.1 * rng.normal(size=6))
        hit += 0.4 in read_content(line, list(0.6 + 0.1 * rng.normal(size=2))).interval
    assert 0.935 < hit / 2000 < 0.965


def test_coverage_of_a_standard_addition() -> None:
    rng = np.random.default_rng(2)
    added = np.array([0, 0, 0.5, 0.5, 1.0, 1.0, 1.5, 1.5])
    hit = 0
    for _ in range(2000):
        hit += 0.3 in standard_addition(added, (0.3 + added) + 0.05 * rng.normal(size=8)).interval
    assert 0.935 < hit / 2000 < 0.965


@pytest.mark.reference(
    "Standard error of an extrapolated content",
    "Miller & Miller, ch. 5: s_xE = (s/b)√(1/n + ȳ²/(b² S_xx))",
    "derived",
)
def test_standard_error_of_the_extrapolated_content() -> None:
    x = np.array([0, 5, 10, 15, 20, 25, 30.0])
    y = np.array([0.32, 0.41, 0.52, 0.60, 0.70, 0.77, 0.89])
    found = standard_addition(x, y)
    line = found.line
    formula = (
        line.residual_sd
        / line.slope.value
        * np.sqrt(1 / 7 + y.mean() ** 2 / (line.slope.value**2 * line.sxx))
    )
    assert found.content.u == pytest.approx(formula, rel=1e-9)
    assert found.content.value == pytest.approx(17.3, abs=0.1)


def test_volume_correction_and_background() -> None:
    volumes = 1 + np.arange(5) * 0.1
    added = np.arange(5) * 0.2
    signals = (0.3 + added) / volumes + 0.05
    found = standard_addition(added, signals, background=Measured(value=0.05, u=0.0), volumes=volumes)
    assert found.content.value == pytest.approx(0.3, rel=1e-9)


def test_recovery() -> None:
    found = recovery(
        Measured(value=2.0, u=0.1, df=8), Measured(value=6.8, u=0.1, df=8), Measured(value=5.0, u=0.05)
    )
    assert found.value == pytest.approx(0.96)
    assert found.u == pytest.approx(np.hypot(0.1 * np.sqrt(2) / 5, 0.96 * 0.01))
    with pytest.raises(MethodError, match="amount added"):
        recovery(found, found, Measured(value=0.0))


@pytest.mark.reference(
    "Hydrogen peroxide by absorbance with the two absorptivities in use",
    "43.6 (Beers & Sizer 1952) and 39.4 (Aebi 1984) L/(mol cm), attribution from memory",
    "seen",
)
def test_stock_by_absorbance() -> None:
    a, path = Measured(value=0.436, u=0.002), Measured(value=0.01, u=0.0)
    assert by_absorbance(a, Measured(value=4.36, u=0.0), path).value == pytest.approx(10.0)
    assert by_absorbance(a, Measured(value=3.94, u=0.0), path).value == pytest.approx(11.07, abs=0.005)


def test_stock_through_titration_dilution_and_decay() -> None:
    stock = by_titration(
        Measured(value=20.0, u=0.02),
        Measured(value=12.5e-6, u=0.02e-6),
        Measured(value=10e-6, u=0.01e-6),
        ratio=2.5,
    )
    assert stock.value == pytest.approx(62.5)
    assert stock.u / stock.value == pytest.approx(np.sqrt(0.001**2 + 0.0016**2 + 0.001**2))
    thin = diluted(stock, [(Measured(value=1e-6, u=5e-9), Measured(value=100e-6, u=1e-7))])
    assert thin.value == pytest.approx(0.625)
    old = decayed(thin, Measured(value=1e-5, u=1e-6), 3600)
    assert old.value == pytest.approx(0.625 * np.exp(-0.036))
    assert old.u > thin.u * np.exp(-0.036)
    with pytest.raises(MethodError, match="cannot be"):
        diluted(stock, [(Measured(value=2.0), Measured(value=1.0))])
