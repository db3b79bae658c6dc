from __future__ import annotations

import warnings

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.statistics.line import fit_line
from halfcell.statistics.mixed import random_slopes


def _data(seed: int, m: int = 6, sd_slope: float = 0.15):
    rng = np.random.default_rng(seed)
    x = np.tile(np.linspace(0, 1, 7), m)
    who = np.repeat([f"e{k}" for k in range(m)], 7)
    b = np.repeat(2 + sd_slope * rng.normal(size=m), 7)
    a = np.repeat(0.5 + 0.05 * rng.normal(size=m), 7)
    return x, a + b * x + 0.03 * rng.normal(size=x.size), who


@pytest.mark.reference("Random intercepts and slopes by REML", "statsmodels MixedLM", "recomputed")
def test_against_a_general_library() -> None:
    import statsmodels.api as sm
    from statsmodels.regression.mixed_linear_model import MixedLMParams

    x, y, who = _data(1)
    found = random_slopes(x, y, who)
    design = np.column_stack([np.ones(x.size), x])
    free = MixedLMParams.from_components(fe_params=np.ones(2), cov_re=np.eye(2))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        other = sm.MixedLM(y, design, groups=who, exog_re=design).fit(free=free, reml=True)
    assert found.slope.value == pytest.approx(other.fe_params[1], rel=1e-5)
    assert found.slope.u == pytest.approx(other.bse_fe[1], rel=1e-3)
    assert found.sd_slope**2 == pytest.approx(np.asarray(other.cov_re)[1, 1], rel=2e-3)
    assert found.residual_sd**2 == pytest.approx(other.scale, rel=1e-3)
    assert found.log_likelihood == pytest.approx(other.llf, abs=1e-3)


def test_mean_slope_of_like_designs_is_the_mean_of_the_slopes() -> None:
    x, y, who = _data(2)
    own = np.array([fit_line(x[who == w], y[who == w]).slope.value for w in dict.fromkeys(who)])
    found = random_slopes(x, y, who)
    assert found.slope.value == pytest.approx(own.mean(), rel=1e-9)
    assert found.slope.u == pytest.approx(own.std(ddof=1) / np.sqrt(6), rel=0.06)


def test_pooling_everything_would_understate_the_uncertainty() -> None:
    x, y, who = _data(3)
    assert fit_line(x, y).slope.u < 0.6 * random_slopes(x, y, who).slope.u


def test_units_do_not_matter() -> None:
    x, y, who = _data(4)
    one, two = random_slopes(x, y, who), random_slopes(x * 1e-3, y * 1e-6, who)
    assert two.slope.value == pytest.approx(one.slope.value * 1e-3, rel=1e-6)
    assert two.sd_slope == pytest.approx(one.sd_slope * 1e-3, rel=1e-3)


def test_refusals() -> None:
    with pytest.raises(MethodError, match="two subjects"):
        random_slopes([1, 2, 3], [1, 2, 3], ["a"] * 3)
    with pytest.raises(MethodError, match="three points at two levels"):
        random_slopes([1, 2, 3, 1, 2], [1, 2, 3, 1, 2], ["a", "a", "a", "b", "b"])
