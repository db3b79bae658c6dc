"""D[4,3]: closed forms, and intervals that hold the truth as often as they say."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from halfcell.micrographs.sizes import moment_mean, sizes
from halfcell.micrographs.volume_mean import volume_mean


@pytest.mark.reference(
    "D[4,3] of a log-normal distribution, median 20 nm, σ_g 1.3",
    "Hatch & Choate relations; derived",
    "derived",
)
def test_log_normal_relation() -> None:
    found = volume_mean(20 * 1.3 ** np.random.default_rng(1).standard_normal(100_000))
    assert found.by == "log-normal model"
    assert found.value.value == pytest.approx(25.448449, rel=5e-3)


def test_moments_where_the_model_does_not_hold() -> None:
    rng = np.random.default_rng(2)
    d = np.concatenate([20 * 1.15 ** rng.standard_normal(300), 45 * 1.15 ** rng.standard_normal(100)])
    found = volume_mean(d)
    assert found.by == "moments"
    assert found.value.value == pytest.approx(moment_mean(d, 4, 3).value)
    assert volume_mean(d, log_normal=False).by == "moments"
    # Half the distance to the model is in the uncertainty until the model is ruled out.
    assert volume_mean(d, log_normal=False).value.u < found.value.u
    assert volume_mean(d, log_normal=False).value.u == pytest.approx(moment_mean(d, 4, 3).u, rel=0.05)


def test_weights_act_like_repeats() -> None:
    d, w = np.random.default_rng(3).normal(50, 12, 40), np.tile([1.0, 2.0, 2.0, 3.0], 10)
    twice = np.repeat(d, w.astype(int))
    assert volume_mean(d, w).value.value == pytest.approx(volume_mean(twice).value.value, rel=0.01)


@pytest.mark.parametrize(
    ("draw", "truth"),
    [
        (lambda rng: 20 * 1.15 ** rng.standard_normal(150), 20 * np.exp(3.5 * np.log(1.15) ** 2)),
        (lambda rng: 20 * 1.3 ** rng.standard_normal(150), 20 * np.exp(3.5 * np.log(1.3) ** 2)),
        (lambda rng: 20 * 1.5 ** rng.standard_normal(150), 20 * np.exp(3.5 * np.log(1.5) ** 2)),
        # Normal with s/mean 0.24: E d⁴/E d³ in closed form (what lies below 0 does not count).
        (lambda rng: np.abs(rng.normal(50, 12, 150)), (50**4 + 6 * 50**2 * 144 + 3 * 144**2) / (50**3 + 3 * 50 * 144)),
        # Gamma with shape 8: E d⁴/E d³ = shape + 3.
        (lambda rng: rng.gamma(8, 1, 150), 11.0),
    ],
    ids=["σ_g 1.15", "σ_g 1.3", "σ_g 1.5", "normal", "gamma"],
)  # fmt: skip
def test_intervals_hold_the_truth(draw: Callable[[np.random.Generator], np.ndarray], truth: float) -> None:
    rng = np.random.default_rng(4)
    inside = [truth in sizes(draw(rng)).volume_mean.interval(0.95) for _ in range(200)]
    # 95 % of 200 within three binomial deviations is 90 %.
    assert np.mean(inside) >= 0.90
