from __future__ import annotations

import importlib.util
from pathlib import Path

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.statistics.variance_components import nested, one_way

CERTIFIED = {
    "SiRstv": (5.11462616000000e-02, 2.16636560000000e-01, 1.18046237440255, 1e-12),
    "AtmWtAg": (3.63834187500000e-09, 1.04951729166667e-08, 15.9467335677930, 1e-9),
}


def _groups(name: str) -> list[np.ndarray]:
    found = importlib.util.find_spec("scipy")
    assert found is not None
    assert found.origin is not None
    path = Path(found.origin).parent / "stats" / "tests" / "data" / "nist_anova" / f"{name}.dat"
    if not path.exists():
        pytest.skip("this scipy was installed without its test data")
    rows = np.loadtxt(path, skiprows=60)
    return [rows[rows[:, 0] == k, 1] for k in np.unique(rows[:, 0])]


@pytest.mark.reference(
    "One-way analysis of variance: SiRstv, AtmWtAg",
    "NIST StRD ANOVA (files shipped with scipy's tests)",
    "seen",
)
@pytest.mark.parametrize("name", CERTIFIED)
def test_nist(name: str) -> None:
    between, within, f, tolerance = CERTIFIED[name]
    found = one_way(_groups(name))
    assert found.f == pytest.approx(f, rel=tolerance)
    assert found.ss_between == pytest.approx(between, rel=tolerance)
    assert found.ss_within == pytest.approx(within, rel=tolerance)


@pytest.mark.reference(
    "One-way analysis of variance with 1, 7 and 13 constant leading digits: SmLs01–09",
    "NIST StRD ANOVA (files shipped with scipy's tests)",
    "seen",
)
@pytest.mark.parametrize(
    ("name", "tolerance"),
    [(f"SmLs0{k}", 1e-11 if k <= 3 else 1e-7 if k <= 6 else 2e-2) for k in range(1, 10)],
)
def test_nist_ill_conditioned(name: str, tolerance: float) -> None:
    # Certified F = 21, 201 and 2001 for as many readings a group. With thirteen constant leading digits the file itself, read as double
    # precision, holds only two or three digits of the scatter.
    groups = _groups(name)
    assert one_way(groups).f == pytest.approx(
        {21: 21.0, 201: 201.0, 2001: 2001.0}[groups[0].size], rel=tolerance
    )


def test_coverage_of_the_scatter_between_groups() -> None:
    rng = np.random.default_rng(1)
    hit = {0.5: 0, 2.0: 0}
    sets = 1500
    for sd in hit:
        for _ in range(sets):
            groups = sd * rng.normal(size=(4, 1)) + rng.normal(size=(4, 3))
            hit[sd] += sd in one_way(list(groups)).between_interval
    assert all(0.93 < h / sets < 0.975 for h in hit.values()), hit


def test_coverage_of_nested_scatter() -> None:
    rng = np.random.default_rng(2)
    batch = [b for b in "abcd" for _ in range(3)]
    inside = between = 0
    for _ in range(1500):
        values = np.repeat(0.8 * rng.normal(size=4), 3) + 0.5 * rng.normal(size=12)
        found = nested(values, batch)
        inside += 0.5 in found.inside.interval
        between += 0.8 in found.batches.interval
    assert 0.935 < inside / 1500 < 0.965
    assert 0.93 < between / 1500 < 0.975


def test_refusals() -> None:
    with pytest.raises(MethodError, match="two groups"):
        one_way([[1, 2]])
    with pytest.raises(MethodError, match="two batches"):
        nested([1, 2], ["a", "a"])
