"""Analysis of variance with several factors."""

from __future__ import annotations

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.statistics.groups_factorial import factorial

# R's data set warpbreaks (Tippett 1950): values from memory, confirmed by R's published TukeyHSD.
BREAKS = (
    26, 30, 54, 25, 70, 52, 51, 26, 67, 18, 21, 29, 17, 12, 18, 35, 30, 36, 36, 21, 24, 18, 10, 43, 28, 15, 26,
    27, 14, 29, 19, 29, 31, 41, 20, 44, 42, 26, 19, 16, 39, 28, 21, 39, 29, 20, 21, 24, 17, 13, 15, 15, 16, 28,
)  # fmt: skip
WOOL = ["A"] * 27 + ["B"] * 27
TENSION = (["L"] * 9 + ["M"] * 9 + ["H"] * 9) * 2


@pytest.mark.reference(
    "Tukey's pairs of warpbreaks adjusted for wool",
    "R TukeyHSD(aov(breaks ~ wool + tension)), help page",
    "recomputed",
)
def test_warpbreaks() -> None:
    found = factorial(BREAKS, {"wool": WOOL, "tension": TENSION}, interactions=False)
    assert found.levels["tension"] == ("L", "M", "H")
    expected = {
        (0, 1): (10.0, 0.646579, 19.353421, 0.0336262),
        (0, 2): (14.722222, 5.368801, 24.075643, 0.0011218),
        (1, 2): (4.722222, -4.631199, 14.075643, 0.4474210),
    }
    for pair in found.pairs["tension"]:
        value, low, high, p = expected[pair.first, pair.second]
        assert pair.difference.value == pytest.approx(value, abs=1e-6)
        assert (pair.low, pair.high) == (pytest.approx(low, abs=2e-6), pytest.approx(high, abs=2e-6))
        assert pair.p == pytest.approx(p, abs=1e-6)


@pytest.mark.reference(
    "Unbalanced two-way analysis of variance, second type", "statsmodels anova_lm(typ=2)", "recomputed"
)
def test_unbalanced_against_a_general_library() -> None:
    import pandas as pd
    from statsmodels.formula.api import ols
    from statsmodels.stats.anova import anova_lm

    keep = [i for i in range(54) if i not in {0, 3, 11, 30, 31, 50}]
    frame = pd.DataFrame(
        {"y": np.array(BREAKS, float)[keep], "wool": np.array(WOOL)[keep], "tension": np.array(TENSION)[keep]}
    )
    expected = anova_lm(ols("y ~ C(wool, Sum) * C(tension, Sum)", frame).fit(), typ=2)
    found = factorial(frame["y"].to_numpy(), {"wool": list(frame["wool"]), "tension": list(frame["tension"])})
    for effect, row in zip(found.effects, range(3), strict=True):
        assert effect.squares == pytest.approx(expected["sum_sq"].iloc[row], rel=1e-9)
        assert effect.p == pytest.approx(expected["PR(>F)"].iloc[row], rel=1e-8)
    assert found.effect("tension", "wool").name == "wool × tension"


def test_a_pure_interaction_is_seen_as_one() -> None:
    rng = np.random.default_rng(1)
    a = ["no", "no", "yes", "yes"] * 5
    b = ["no", "yes", "no", "yes"] * 5
    y = [
        10.0 * (i == j == "yes") - 5.0 * (i == "yes") - 5.0 * (j == "yes") + rng.normal()
        for i, j in zip(a, b, strict=True)
    ]
    found = factorial(y, {"seeding": a, "plating": b})
    assert found.effect("seeding", "plating").p < 1e-6
    assert found.effect("seeding").p > 0.01


def test_refusals() -> None:
    with pytest.raises(MethodError, match="1 level"):
        factorial([1.0, 2.0, 3.0], {"a": ["x", "x", "x"]})
    with pytest.raises(MethodError, match="not measured"):
        factorial([1.0, 2.0, 3.5, 4.0, 5.0, 7.0], {"a": list("xxyyxx"), "b": list("uuuuvv")})
    with pytest.raises(MethodError, match="nothing to tell the scatter"):
        factorial([1.0, 2.0], {"a": ["x", "y"]})
