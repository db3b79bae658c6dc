"""Means, spreads and their intervals against handbook values, closed forms and simulation."""

from __future__ import annotations

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.micrographs.sizes import moment_mean, sizes, weighted_quantile
from halfcell.micrographs.volume_mean import volume_mean


@pytest.mark.reference("moment means of d = 1, 2, 3", "ISO 9276-2 definitions; derived", "derived")
@pytest.mark.parametrize(
    ("p", "q", "expected"),
    [(1, 0, 2.0), (2, 0, 2.160247), (3, 0, 2.289428), (3, 2, 2.571429), (4, 3, 2.722222)],
)
def test_moment_means(p: int, q: int, expected: float) -> None:
    assert moment_mean([1, 2, 3], p, q).value == pytest.approx(expected, abs=5e-7)


@pytest.mark.reference(
    "means of a log-normal distribution, median 20 nm, σ_g 1.3",
    "Hatch & Choate relations; derived",
    "derived",
)
def test_log_normal_relations() -> None:
    d = 20 * 1.3 ** np.random.default_rng(1).standard_normal(200_000)
    found = sizes(d)
    assert found.mean.value == pytest.approx(20.700333, rel=3e-3)
    assert found.surface_mean.value == pytest.approx(23.755636, rel=3e-3)
    assert found.volume_mean.value == pytest.approx(25.448449, rel=5e-3)
    assert found.spread.value == pytest.approx(5.525843, rel=1e-2)
    assert found.log_median.value == pytest.approx(20, rel=3e-3)
    assert found.log_sigma.value == pytest.approx(1.3, rel=3e-3)
    assert found.model == "log-normal"


def test_uncertainties_are_realised() -> None:
    rng = np.random.default_rng(2)
    runs = [sizes(20 * 1.3 ** rng.standard_normal(150)) for _ in range(240)]
    for name, truth in (("mean", 20.700333), ("spread", 5.525843), ("volume_mean", 25.448449), ("median", 20.0), ("relative_spread", 5.525843 / 20.700333), ("log_sigma", 1.3)):  # fmt: skip
        found = [getattr(run, name) for run in runs]
        inside = sum(truth in m.interval(0.95) for m in found)
        # 95 % of 400 within 4 binomial deviations, one percent point for the ratios' own bias.
        assert inside / 240 > 0.95 - 4 * np.sqrt(0.05 * 0.95 / 240) - 0.01, name
        assert np.std([m.value for m in found]) == pytest.approx(np.mean([m.u for m in found]), rel=0.2), name
    covered = sum(run.spread_interval.low < 5.525843 < run.spread_interval.high for run in runs) / 240
    assert 0.90 < covered <= 0.99


def test_number_needed_is_enough() -> None:
    rng = np.random.default_rng(3)
    d = 20 * 1.25 ** rng.standard_normal(5000)
    found = sizes(d, precision=0.03)
    truth = 20 * np.exp(np.log(1.25) ** 2 / 2)
    again = [np.mean(20 * 1.25 ** rng.standard_normal(found.needed_mean)) for _ in range(1500)]
    assert np.mean(np.abs(np.array(again) / truth - 1) < 0.03) == pytest.approx(0.95, abs=0.02)
    # The number is that of the D[4,3] that is given: here the log-normal model's, whichever way a sample of it takes.
    assert found.volume_by == "log-normal model"
    log = np.log(20 * 1.25 ** rng.standard_normal((800, found.needed_volume)))
    model = np.exp(log.mean(axis=1) + 3.5 * log.var(axis=1, ddof=1))
    true_volume = 20 * np.exp(3.5 * np.log(1.25) ** 2)
    assert np.mean(np.abs(model / true_volume - 1) < 0.03) == pytest.approx(0.95, abs=0.03)
    assert volume_mean(np.exp(log[0])).value.value == pytest.approx(model[0])


def test_number_needed_by_the_moments_is_enough_for_them() -> None:
    rng = np.random.default_rng(3)
    found = sizes(np.concatenate([20 * 1.1 ** rng.standard_normal(600), 45 * 1.1 ** rng.standard_normal(600)]), precision=0.03)  # fmt: skip
    assert found.volume_by == "moments"
    # As of a log-normal distribution of the same width of ln d.
    sigma = np.log(found.log_sigma.value)
    again = [
        moment_mean(20 * np.exp(sigma * rng.standard_normal(found.needed_volume)), 4, 3).value for _ in range(300)
    ]  # fmt: skip
    assert np.mean(np.abs(np.array(again) / (20 * np.exp(3.5 * sigma**2)) - 1) < 0.03) == pytest.approx(0.95, abs=0.04)  # fmt: skip


@pytest.mark.reference(
    "number of particles for a precision of the mean diameter and of D[4,3], log-normal sizes",
    "ISO 13322-1, formula of Masuda & Iinoya: n = u² α² σ² (2c²σ² + 1)/δ², c = β + α/2",
    "from memory",
)
@pytest.mark.parametrize(("spread", "agreement"), [(1.05, 0.01), (1.15, 0.03), (1.25, 0.1)])
def test_number_needed_beside_the_standards_formula(spread: float, agreement: float) -> None:
    """That of the mean is the expansion of the exact variance to the fourth power of σ; that of D[4,3] is the model's own."""
    found = sizes(20 * spread ** np.random.default_rng(8).standard_normal(60_000), precision=0.01)
    sigma, u = np.log(found.log_sigma.value), 1.959964
    for alpha, beta, needed in ((1, 0, found.needed_mean), (1, 3, found.needed_volume)):
        c = beta + alpha / 2
        standard = (u * alpha * sigma / 0.01) ** 2 * (2 * c**2 * sigma**2 + 1)
        assert needed == pytest.approx(standard, **({"rel": agreement} if beta == 0 else {"abs": 1}))
        assert needed >= 0.97 * standard


def test_normal_sizes_are_called_normal() -> None:
    d = np.random.default_rng(4).normal(50, 12, 600)
    assert sizes(d[d > 0]).model == "normal"


def test_two_populations_are_told_and_one_is_not() -> None:
    rng = np.random.default_rng(5)
    both = np.concatenate([20 * 1.15 ** rng.standard_normal(150), 45 * 1.15 ** rng.standard_normal(60)])
    two = sizes(both).mixture
    assert two is not None
    assert two.medians == pytest.approx([20, 45], rel=0.06)
    assert two.shares == pytest.approx([150 / 210, 60 / 210], abs=0.06)
    single = [sizes(20 * 1.3 ** rng.standard_normal(200)).mixture for _ in range(40)]
    # Equal shares are symmetric: only their flatness tells.
    flat = np.concatenate([20 * 1.12 ** rng.standard_normal(100), 36 * 1.12 ** rng.standard_normal(100)])
    assert sizes(flat).mixture is not None
    assert sum(m is not None for m in single) <= 1


def test_weights_act_like_repeats() -> None:
    d = np.array([10.0, 12.0, 15.0, 20.0])
    w = np.array([1.0, 2.0, 1.0, 3.0])
    repeated = np.repeat(d, w.astype(int))
    assert sizes(d, w).mean.value == pytest.approx(repeated.mean())
    assert moment_mean(d, 4, 3, w).value == pytest.approx(moment_mean(repeated, 4, 3).value)
    assert weighted_quantile([1, 2, 3], [1, 1, 1], 0.5) == 2


@pytest.mark.parametrize(
    ("d", "said"), [([1.0, 2.0], "too few"), ([1.0, 2.0, -1.0], "positive"), ([1.0, np.nan, 2.0], "positive")]
)
def test_refuses(d: list[float], said: str) -> None:
    with pytest.raises(MethodError, match=said):
        sizes(d)
