"""Tukey's method and the studentized range."""

from __future__ import annotations

import math

import pytest
from scipy import stats

from halfcell.statistics.tukey import range_quantile, range_sf, tukey
from published import HANDBOOK, PLANTS

TABLE = {
    5: (3.635, 4.602, 5.218, 5.673, 6.033, 6.330, 6.582, 6.801, 6.995),
    10: (3.151, 3.877, 4.327, 4.654, 4.912, 5.124, 5.304, 5.460, 5.598),
    15: (3.014, 3.673, 4.076, 4.367, 4.595, 4.782, 4.940, 5.077, 5.198),
    20: (2.950, 3.578, 3.958, 4.232, 4.445, 4.620, 4.768, 4.895, 5.008),
    30: (2.888, 3.486, 3.845, 4.102, 4.301, 4.464, 4.601, 4.720, 4.824),
    60: (2.829, 3.399, 3.737, 3.977, 4.163, 4.314, 4.441, 4.550, 4.646),
    120: (2.800, 3.356, 3.685, 3.917, 4.096, 4.241, 4.363, 4.468, 4.560),
    math.inf: (2.772, 3.314, 3.633, 3.858, 4.030, 4.170, 4.286, 4.387, 4.474),
}


@pytest.mark.reference(
    "Table of the studentized range, q(0.05)", "R ptukey; Harter's tables (from memory)", "recomputed"
)
@pytest.mark.parametrize("df", TABLE)
def test_table(df: float) -> None:
    for k, q in zip(range(2, 11), TABLE[df], strict=True):
        assert range_quantile(0.95, k, df) == pytest.approx(q, abs=5.1e-4)


@pytest.mark.reference("Studentized range, tail probabilities", "scipy.stats.studentized_range", "recomputed")
@pytest.mark.parametrize(
    ("q", "k", "df"), [(4.0, 4, 16), (30.0, 4, 2.1), (3.0, 3, 1.2), (20.0, 4, 3.3), (8.0, 6, 60)]
)
def test_tail(q: float, k: int, df: float) -> None:
    assert range_sf(q, k, df) == pytest.approx(stats.studentized_range.sf(q, k, df), abs=1e-7)


@pytest.mark.reference(
    "Tukey's intervals, four groups of five", "NIST/SEMATECH e-Handbook 7.4.7.1; R TukeyHSD", "recomputed"
)
def test_handbook() -> None:
    expected = {
        (0, 1): (-4.46737, -0.29263, 0.022793), (0, 2): (-5.30737, -1.13263, 0.002211), (0, 3): (-2.24737, 1.92737, 0.996121),
        (1, 2): (-2.92737, 1.24737, 0.664465), (1, 3): (0.13263, 4.30737, 0.035154), (2, 3): (0.97263, 5.14737, 0.003451),
    }  # fmt: skip
    for pair in tukey(HANDBOOK):
        low, high, p = expected[pair.first, pair.second]
        assert (pair.low, pair.high) == (pytest.approx(low, abs=5e-6), pytest.approx(high, abs=5e-6))
        assert pair.p == pytest.approx(p, abs=6e-7)
        assert pair.different == (p < 0.05)


@pytest.mark.reference("Tukey's pairs of PlantGrowth", "R TukeyHSD, data set PlantGrowth", "recomputed")
def test_plants() -> None:
    pairs = tukey(PLANTS)
    assert pairs.pair(0, 1).p == pytest.approx(0.390871, abs=1e-6)
    assert pairs.pair(0, 2).p == pytest.approx(0.197996, abs=1e-6)
    last = pairs.pair(1, 2)
    assert (last.low, last.high, last.p) == (
        pytest.approx(-1.556216, abs=1e-6), pytest.approx(-0.173784, abs=1e-6), pytest.approx(0.012006, abs=1e-6),
    )  # fmt: skip


def test_two_groups_are_the_t_test() -> None:
    a, b = (1.0, 2.0, 4.0), (3.0, 5.0, 8.0, 6.0)
    assert tukey([a, b]).pairs[0].p == pytest.approx(stats.ttest_ind(a, b).pvalue, abs=1e-8)
