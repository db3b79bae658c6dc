"""Games and Howell's pairs."""

from __future__ import annotations

import pytest

from halfcell.statistics.games_howell import games_howell
from published import PLANTS


@pytest.mark.reference(
    "Games and Howell's pairs of PlantGrowth", "R package rstatix, data set PlantGrowth", "recomputed"
)
def test_plants() -> None:
    pairs = games_howell(PLANTS)
    expected = {
        (0, 1): (-0.430088, 1.172088, 16.52359, 0.475),
        (0, 2): (-1.088554, 0.100554, 16.78576, 0.113),
        (1, 2): (-1.616487, -0.113513, 14.10357, 0.024),
    }
    for pair in pairs:
        low, high, df, p = expected[pair.first, pair.second]
        assert (pair.low, pair.high) == (pytest.approx(low, abs=2e-5), pytest.approx(high, abs=2e-5))
        assert pair.difference.df == pytest.approx(df, abs=1e-5)
        assert pair.p == pytest.approx(p, abs=6e-4)
    assert pairs.claims() == frozenset({(1, 2)})
