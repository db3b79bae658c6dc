"""Families of p values, and letters."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.statistics.families import benjamini_hochberg, holm
from halfcell.statistics.families_letters import letters


@pytest.mark.reference("Holm and Benjamini–Hochberg adjustment", "statsmodels multipletests", "recomputed")
def test_adjustments_agree_with_a_general_library() -> None:
    from statsmodels.stats.multitest import multipletests

    p = np.random.default_rng(1).uniform(0, 0.2, 15)
    np.testing.assert_allclose(holm(p), multipletests(p, method="holm")[1], rtol=1e-12)
    np.testing.assert_allclose(benjamini_hochberg(p), multipletests(p, method="fdr_bh")[1], rtol=1e-12)


def test_bad_p() -> None:
    with pytest.raises(MethodError, match="between 0 and 1"):
        holm([0.1, 1.5])


def test_letters_share_exactly_where_no_difference_is_claimed() -> None:
    rng = np.random.default_rng(7)
    for _ in range(300):
        k = int(rng.integers(2, 7))
        pairs = [pair for pair in itertools.combinations(range(k), 2) if rng.random() < 0.4]
        marks = letters(rng.normal(size=k).tolist(), pairs)
        assert all(marks)
        for i, j in itertools.combinations(range(k), 2):
            assert bool(set(marks[i]) & set(marks[j])) == ((i, j) not in pairs)


def test_the_highest_mean_has_a() -> None:
    assert letters([1.0, 3.0, 2.0], [(0, 1), (0, 2), (1, 2)]) == ("c", "a", "b")
    assert letters([1.0, 3.0], []) == ("a", "a")
