"""The size of Welch's test: the integral against simulation, and the family's level."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy import special

from halfcell.statistics.welch_pairs import welch_pairs, welch_steps
from halfcell.statistics.welch_size import corrected_p, every_pair, family_alpha, family_p, true_rates


def _nominal(n: tuple[int, ...], sd: tuple[float, ...], count: int, seed: int) -> np.ndarray:
    """Nominal p of every pair, (pairs, count) array, under equal means."""
    rng = np.random.default_rng(seed)
    draws = [rng.normal(0, s, (count, m)) for s, m in zip(sd, n, strict=True)]
    mean = np.array([x.mean(1) for x in draws])
    part = np.array([x.var(1, ddof=1) / x.shape[1] for x in draws])
    out = []
    for i, j in itertools.combinations(range(len(n)), 2):
        v = part[i] + part[j]
        df = v**2 / (part[i] ** 2 / (n[i] - 1) + part[j] ** 2 / (n[j] - 1))
        out.append(2 * special.stdtr(df, -np.abs(mean[i] - mean[j]) / np.sqrt(v)))
    return np.array(out)


@pytest.mark.parametrize(("n", "sd"), [((3, 3), (1.0, 1.0)), ((3, 6), (2.0, 1.0)), ((4, 5), (0.5, 2.0))])
def test_integral_agrees_with_simulation(n: tuple[int, int], sd: tuple[float, float]) -> None:
    count, p = 60_000, 0.05
    seen = float((_nominal(n, sd, count, 11) <= p).mean())
    logits = 0.5 * np.arange(-24, 25)
    here = math.log(sd[0] ** 2 / n[0]) - math.log(sd[1] ** 2 / n[1])
    expected = float(np.interp(here, logits, true_rates(p, *n)))
    assert seen == pytest.approx(expected, abs=3.5 * math.sqrt(expected / count) + 2e-4)


def test_limits_of_the_ratio_are_nominal() -> None:
    rates = true_rates(0.05, 3, 6)
    assert rates[0] == pytest.approx(0.05, rel=1e-3)
    assert rates[-1] == pytest.approx(0.05, rel=1e-3)


def test_correction_grows_with_few_values_and_fades_with_many() -> None:
    assert corrected_p(0.05, 3, 6) > corrected_p(0.05, 3, 3) > corrected_p(0.05, 20, 20) >= 0.05
    assert corrected_p(0.05, 200, 200) == pytest.approx(0.05, rel=2e-3)


@pytest.mark.parametrize("n", [(3, 3), (3, 6), (2, 5), (3, 3, 3, 3), (3, 4, 6)])
def test_level_is_the_inverse_of_p(n: tuple[int, ...]) -> None:
    assert family_p(family_alpha(0.05, n), n) == pytest.approx(0.05, rel=1e-3)


@pytest.mark.parametrize(
    ("n", "sd"),
    [
        ((3, 3, 3, 3), (4, 4, 4, 1)),
        ((3, 3, 3, 6), (4, 4, 4, 1)),
        ((3, 6), (4, 1)),
        ((3, 4, 5, 6), (8, 4, 2, 1)),
        ((4, 4, 4), (1, 1, 1)),
    ],
)
def test_family_wise_error_is_held(n: tuple[int, ...], sd: tuple[float, ...]) -> None:
    """At most 5.7 % at a nominal 5 % (and by derivation at most 5 %)."""
    count = 30_000
    rate = float((_nominal(n, sd, count, 5) <= family_alpha(0.05, n)).any(axis=0).mean())
    assert rate <= 0.05 + 3 * math.sqrt(0.05 * 0.95 / count)


def test_more_pairs_cost_more_and_a_reference_costs_less() -> None:
    n = (4, 4, 4, 4)
    assert family_alpha(0.05, n[:2]) > family_alpha(0.05, n, every_pair(4, 0)) > family_alpha(0.05, n)


def test_steps_claim_at_least_what_intervals_claim() -> None:
    rng = np.random.default_rng(12)
    more = 0
    for _ in range(12):
        groups = [rng.normal(m, 1, 4) for m in (0, 3, 6)]
        plain, steps = welch_pairs(groups), welch_steps(groups)
        assert plain.claims() <= steps.claims()
        more += plain.claims() != steps.claims()
    assert more > 0
