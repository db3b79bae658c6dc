"""Two one-sided tests."""

from __future__ import annotations

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.results import Measured
from halfcell.statistics.equivalence import equivalence
from halfcell.statistics.welch import welch_t
from halfcell.statistics.welch_size import family_alpha


@pytest.mark.reference("Two one-sided tests with unequal variances", "statsmodels ttost_ind", "recomputed")
def test_agrees_with_a_general_library() -> None:
    from statsmodels.stats.weightstats import ttost_ind

    rng = np.random.default_rng(5)
    a, b = rng.normal(10, 1, 8), rng.normal(10.3, 2, 11)
    expected = ttost_ind(a, b, -2.0, 2.0, usevar="unequal")[0]
    assert equivalence(welch_t(a, b).difference, 2.0).p == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize(("n", "sd"), [((3, 3), (1, 1)), ((3, 6), (2, 1)), ((6, 6), (1, 3))])
def test_size_at_the_margin(n: tuple[int, int], sd: tuple[float, float]) -> None:
    """At a true difference equal to the margin, "same" is claimed at most at the stated 5 % when the level is held."""
    rng = np.random.default_rng(6)
    count, margin, held = 4000, 3.0, family_alpha(0.10, n) / 2
    same = sum(
        equivalence(
            welch_t(rng.normal(margin, sd[0], n[0]), rng.normal(0, sd[1], n[1])).difference, margin, held
        ).same
        for _ in range(count)
    )
    assert same / count <= 0.05 + 3 * np.sqrt(0.05 * 0.95 / count)


def test_same_is_the_inner_interval() -> None:
    difference = Measured(value=0.4, u=0.5, df=6)
    test = equivalence(difference, 1.5)
    assert test.same == (test.interval.high < 1.5)
    with pytest.raises(MethodError, match="greater than zero"):
        equivalence(difference, 0.0)
