"""Slopes compared directly."""

from __future__ import annotations

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.statistics.groups_slopes import compare_slopes

LEVELS = np.array([0.0, 1.0, 2.0, 4.0, 8.0])


def _points(
    slopes: dict[str, float], n: int, between: float, noise: float, seed: int
) -> tuple[list[float], list[float], list[str], list[str]]:
    rng = np.random.default_rng(seed)
    x, y, electrode, group = [], [], [], []
    for name, slope in slopes.items():
        for i in range(n):
            own = rng.normal(slope, between)
            x += LEVELS.tolist()
            y += (rng.normal(0, 1) + own * LEVELS + rng.normal(0, noise, 5)).tolist()
            electrode += [f"{name}{i}"] * 5
            group += [name] * 5
    return x, y, electrode, group


def test_balanced_points_give_the_comparison_of_own_slopes() -> None:
    x, y, electrode, group = _points({"A": 3.0, "B": 5.0}, 4, 0.3, 0.2, 1)
    found = compare_slopes(x, y, electrode, group)
    own = np.array([np.polyfit(LEVELS, np.array(y[i : i + 5]), 1)[0] for i in range(0, 40, 5)]).reshape(2, 4)
    pair = found.pairs.pairs[0]
    assert [s.value for s in found.slopes] == pytest.approx(own.mean(axis=1))
    assert pair.difference.u == pytest.approx(np.sqrt(own.var(axis=1, ddof=1).mean() / 2), rel=1e-5)
    assert pair.difference.df == pytest.approx(6, rel=0.02)
    assert found.pairs.claims() == {(0, 1)}


def test_error_rate_with_electrode_scatter() -> None:
    wrong = sum(
        bool(compare_slopes(*_points({"A": 3.0, "B": 3.0, "C": 3.0}, 3, 0.5, 0.3, s)).pairs.claims())
        for s in range(80)
    )
    assert wrong / 80 <= 0.05 + 3 * np.sqrt(0.05 * 0.95 / 80)


def test_refusals() -> None:
    x, y, electrode, group = _points({"A": 3.0, "B": 5.0}, 2, 0.3, 0.2, 1)
    with pytest.raises(MethodError, match="two groups"):
        compare_slopes(x, y, ["A0"] * len(x), group)
    with pytest.raises(MethodError, match="one electrode"):
        compare_slopes(x[:15], y[:15], electrode[:15], group[:15])
    with pytest.raises(MethodError, match="one level"):
        compare_slopes([1.0] * len(x), y, electrode, group)
