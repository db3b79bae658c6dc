"""The ratio of Clark and Evans against published patterns and a general spatial library."""

from __future__ import annotations

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.micrographs.clark_evans import clark_evans
from halfcell.micrographs.window import window_of


@pytest.mark.reference(
    "Clark–Evans ratio of 42 cells, naive and Donnelly",
    "Ripley 1977 data; values of R spatstat 3.0.6",
    "recomputed",
)
def test_cells(cells) -> None:
    found = clark_evans(*cells, width=1, height=1)
    assert found.distance.mean() == pytest.approx(0.128972874602, rel=1e-10)
    assert found.distance.min() == pytest.approx(0.0836301381082, rel=1e-10)
    assert found.distance.max() == pytest.approx(0.154495954640, rel=1e-10)
    assert found.naive == pytest.approx(1.67167951484, rel=1e-10)
    assert found.ratio.value == pytest.approx(1.56042560611, rel=1e-10)
    assert found.z > 6
    assert found.p < 1e-6


@pytest.mark.reference(
    "mean and standard deviation of the nearest distance of 30 and 100 random points",
    "Donnelly 1978 (standard deviation from memory), by simulation",
    "recomputed",
)
@pytest.mark.parametrize(("n", "mean", "deviation"), [(30, 0.099143, 0.010399), (100, 0.052221, 0.0029172)])
def test_donnelly_moments(n: int, mean: float, deviation: float) -> None:
    rng = np.random.default_rng(n)
    values = []
    for _ in range(600):
        p = rng.random((n, 2))
        found = clark_evans(p[:, 0], p[:, 1], width=1, height=1)
        values.append(found.distance.mean())
    assert found.expected == pytest.approx(mean, rel=2e-5)
    assert np.mean(values) == pytest.approx(mean, abs=4 * deviation / np.sqrt(600))
    assert np.std(values) == pytest.approx(deviation, rel=0.1)
    assert found.ratio.u == pytest.approx(deviation / mean, rel=1e-3)


@pytest.mark.reference(
    "square lattice R = 2, hexagonal lattice R = 2.1491", "Clark & Evans 1954; derived", "derived"
)
def test_lattices() -> None:
    u, v = np.meshgrid(np.arange(60) + 0.5, np.arange(60) + 0.5)
    assert clark_evans(u.ravel(), v.ravel(), width=60, height=60).naive == pytest.approx(2.0, rel=1e-9)
    row = np.sqrt(3) / 2
    u, v = np.meshgrid(np.arange(60.0), np.arange(60.0))
    u = u + 0.5 * (v % 2)
    found = clark_evans(u.ravel(), v.ravel() * row, width=60, height=60 * row)
    assert found.naive == pytest.approx(2.149139864, rel=1e-6)


def test_too_few() -> None:
    with pytest.raises(MethodError, match="at least 8"):
        clark_evans([1, 2], [1, 2], width=3, height=3)


def test_edge_terms_by_simulation_agree_with_donnellys() -> None:
    """A window with one tiny masked cell is nearly the rectangle: the simulated terms are near the formula's."""
    seen = np.ones((50, 50), bool)
    seen[0, 0] = False
    window = window_of(1, 1, seen)
    p = window.random(np.random.default_rng(2), 60).astype(float)
    by_formula = clark_evans(p[:, 0], p[:, 1], width=1, height=1)
    simulated = clark_evans(p[:, 0], p[:, 1], width=1, height=1, window=window, seed=3)
    # 200 patterns: the mean is known to a fourteenth of its deviation, the deviation to 5 %.
    assert simulated.expected == pytest.approx(
        by_formula.expected, abs=0.2 * by_formula.ratio.u * by_formula.expected
    )
    assert simulated.ratio.u == pytest.approx(by_formula.ratio.u, rel=0.12)


def test_masked_quarter() -> None:
    """Random points in what a mask leaves have R about 1; as if nothing were masked R is too low."""
    seen = np.ones((40, 40), bool)
    seen[:20, :20] = False
    window = window_of(1, 1, seen)
    rng = np.random.default_rng(4)
    ratios, blind = [], []
    for s in range(16):
        p = window.random(rng, 60).astype(float)
        ratios.append(clark_evans(p[:, 0], p[:, 1], width=1, height=1, window=window, seed=s).ratio.value)
        blind.append(clark_evans(p[:, 0], p[:, 1], width=1, height=1).ratio.value)
    assert np.mean(ratios) == pytest.approx(1, abs=0.05)
    assert np.mean(blind) < 0.93
