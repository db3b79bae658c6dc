"""Quadrats and densities in whole and masked windows against published and hand-counted values."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import chisquare

from halfcell.micrographs.clark_evans import clark_evans
from halfcell.micrographs.patterns import density_maps, dispersion, histogram, l_functions, quadrats
from halfcell.micrographs.ripley import ripley_k
from halfcell.micrographs.window import window_of


@pytest.mark.reference(
    "3 × 3 quadrats of 42 cells: 3 6 3 / 4 7 6 / 3 6 4, variance over mean 0.535714, χ² 4.285714 with 8 degrees of freedom",
    "Ripley 1977 data; values of R spatstat 3.0.6",
    "recomputed",
)
def test_quadrats_of_cells(cells) -> None:
    counts = histogram(np.column_stack(cells)[None], 3, 3, 1.0, 1.0)
    # Rows from the top there, from y = 0 here.
    assert counts[0, ::-1].tolist() == [[3, 6, 3], [4, 7, 6], [3, 6, 4]]
    index = dispersion(counts.reshape(1, 9), np.ones(9))
    assert index[0] == pytest.approx(0.535714285714, rel=1e-10)
    assert 8 * index[0] == pytest.approx(4.28571428571, rel=1e-10)
    assert 8 * index[0] == pytest.approx(chisquare(counts.ravel()).statistic)


def test_dispersion_of_places_partly_seen() -> None:
    """χ² against expected counts in proportion to the area seen, over its degrees of freedom, by a general library."""
    counts, share = np.array([[8.0, 3.0, 5.0, 9.0]]), np.array([1.0, 0.5, 0.75, 1.0])
    expected = 25 * share / share.sum()
    assert dispersion(counts, share)[0] == pytest.approx(chisquare(counts[0], expected).statistic / 3)


@pytest.mark.reference(
    "K and Clark–Evans ratio of 42 cells in a window of which the other half is masked",
    "Ripley 1977 data; values of R spatstat 3.0.6 for the unit square",
    "recomputed",
)
def test_cells_in_a_frame_of_which_half_is_masked(cells) -> None:
    """The unit square as what a mask leaves of a frame twice as wide: the published values come back."""
    seen = np.zeros((50, 100), bool)
    seen[:, :50] = True
    window = window_of(2.0, 1.0, seen)
    k = ripley_k(*cells, [0.1015, 0.1515, 0.2015], width=2, height=1, window=window)
    assert k == pytest.approx([0.00130385359471, 0.05825863044225, 0.13380984658428], rel=1e-9)
    found = clark_evans(*cells, width=2, height=1, window=window, seed=1)
    assert found.naive == pytest.approx(1.67167951484, rel=1e-10)
    # Edge terms from 200 random patterns: known to a fourteenth of the ratio's deviation.
    assert found.ratio.value == pytest.approx(1.56042560611, abs=0.2 * found.ratio.u)


def test_all_statistics_of_random_patterns_in_a_masked_window() -> None:
    seen = np.ones((40, 50), bool)
    seen[:20, :25] = False
    window = window_of(500, 400, seen)
    rng = np.random.default_rng(3)
    patterns = np.stack([window.random(rng, 80).astype(float) for _ in range(150)])
    r, curves = l_functions(patterns, window=window)
    assert curves.mean(axis=0)[5:] == pytest.approx(r[5:], rel=0.05)
    counts, index = quadrats(patterns, window=window)
    assert index.mean() == pytest.approx(1, abs=4 * index.std() / np.sqrt(150))
    assert np.isnan(counts[0, 0, 0])
    maps, places = density_maps(patterns, window=window)
    assert maps[:, places].mean() == pytest.approx(1, abs=0.02)
    assert np.isnan(maps[:, ~places]).all()
