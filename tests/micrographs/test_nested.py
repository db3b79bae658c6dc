"""Variance components against a textbook case, simulation, and the test's error rate."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import f_oneway

from halfcell.errors import MethodError
from halfcell.micrographs.nested import nested_variance


def _draw(rng, sizes, electrode: float, field: float, particle: float):
    out = {}
    for e, fields in enumerate(sizes):
        shift = electrode * rng.standard_normal()
        out[f"e{e}"] = [
            50 + shift + field * rng.standard_normal() + particle * rng.standard_normal(n) for n in fields
        ]
    return out


SIZES = [(30, 50, 40), (60, 20), (45, 35, 25), (50, 50, 30)]


def test_components_are_unbiased_with_unequal_numbers() -> None:
    rng = np.random.default_rng(1)
    found = [nested_variance(_draw(rng, SIZES, 4.0, 2.0, 8.0)) for _ in range(600)]
    assert np.mean([f.within_fields for f in found]) == pytest.approx(64, rel=0.03)
    assert np.mean([f.between_fields for f in found]) == pytest.approx(4, rel=0.15)
    # Values below zero are cut off, which lifts the mean a little.
    assert np.mean([f.between_electrodes for f in found]) == pytest.approx(16, rel=0.15)


def test_error_rate_without_any_effect() -> None:
    rng = np.random.default_rng(2)
    found = [nested_variance(_draw(rng, SIZES, 0.0, 0.0, 8.0)) for _ in range(500)]
    assert np.mean([f.p_fields < 0.05 for f in found]) == pytest.approx(0.05, abs=0.03)
    assert np.mean([f.p_electrodes < 0.05 for f in found]) < 0.08


@pytest.mark.reference("F test between fields of one electrode", "scipy.stats.f_oneway", "recomputed")
def test_one_electrode_is_a_one_way_analysis() -> None:
    rng = np.random.default_rng(3)
    fields = [rng.normal(50, 5, n) for n in (20, 30, 25)]
    found = nested_variance({"only": fields})
    assert found.p_fields == pytest.approx(f_oneway(*fields).pvalue, rel=1e-9)
    assert np.isnan(found.between_electrodes)


def test_too_little() -> None:
    with pytest.raises(MethodError):
        nested_variance({"a": [[1.0]], "b": [[2.0]]})
