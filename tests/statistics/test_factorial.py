from __future__ import annotations

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.statistics.factorial import factorial


@pytest.mark.reference(
    "2^3 pilot plant: effects 23, -5, 1.5, 1.5, 10, 0, 0.5",
    "Box, Hunter & Hunter, Statistics for Experimenters",
    "seen",
)
def test_pilot_plant() -> None:
    y = [60, 72, 54, 68, 52, 83, 45, 80]
    cells = {}
    for k, value in enumerate(y):
        levels = tuple(bool(k >> bit & 1) for bit in range(3))
        cells[levels] = [value - 1.0, value + 1.0]
    found = {e.name: e.effect.value for e in factorial(("T", "C", "K"), cells).effects}
    assert found == pytest.approx(
        {"T": 23, "C": -5, "K": 1.5, "T × C": 1.5, "T × K": 10, "C × K": 0, "T × C × K": 0.5}
    )


def test_coverage_with_unequal_variances() -> None:
    rng = np.random.default_rng(0)
    hits = 0
    for _ in range(400):
        cells = {
            (False, False): rng.normal(0, 0.1, 3),
            (True, False): rng.normal(1, 0.3, 3),
            (False, True): rng.normal(1, 0.3, 3),
            (True, True): rng.normal(4, 1.0, 4),
        }
        together = factorial(("a", "b"), cells).effects[-1]
        hits += together.interval.low <= 1.0 <= together.interval.high
    assert 0.92 <= hits / 400 <= 0.995


def test_needed_is_shown_and_not_shown() -> None:
    full = {
        (False, False): [0, 0.1, -0.1],
        (True, False): [1, 1.2, 0.9],
        (False, True): [1, 1.1, 1.2],
        (True, True): [6, 6.4, 5.8],
    }
    assert factorial(("seeding", "deposition"), full).needed
    additive = full | {(True, True): [2.1, 2.3, 2.0]}
    found = factorial(("seeding", "deposition"), additive)
    assert not found.needed
    assert "no more than the sum" in found.because
    alone = full | {(True, False): [6.1, 6.3, 5.7]}
    assert "not shown to exceed" in factorial(("seeding", "deposition"), alone).because


def test_a_missing_cell_is_named() -> None:
    with pytest.raises(MethodError, match="seeding done, deposition left out"):
        factorial(
            ("seeding", "deposition"), {(False, False): [1, 2], (False, True): [1, 2], (True, True): [1, 2]}
        )
