"""The metal of several fields with agglomerates: share, uncertainty and words."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from halfcell.micrographs.surface import surface
from halfcell.pipeline.made.metal import metal_per_area


def _field(clumps: list[float], n: int = 50, seed: int = 1) -> Any:
    """A field of 1000 × 1000 pixels of 1 nm with n hemispheres of 30 nm and agglomerates of given areas."""
    rng = np.random.default_rng(seed)
    d = np.full(n, 30.0)
    sums = surface(rng.uniform(50, 950, n), rng.uniform(50, 950, n), d, width=1000, height=1000)
    return cast(
        "Any",
        SimpleNamespace(
            area=1e-12, metres_per_pixel=1e-9, diameter=d * 1e-9, surface=sums,
            found=SimpleNamespace(clump_area=np.array(clumps)),
        ),
    )  # fmt: skip


def test_without_agglomerates_nothing_is_added() -> None:
    metal = metal_per_area([_field([], 50), _field([], 60)], "hemisphere")
    assert metal.volume.notes == ()
    assert metal.volume.measured.value == pytest.approx(55 * np.pi / 12 * 27000 * 1e-27 / 1e-12)
    assert metal.volume.measured.df == 1


def test_agglomerates_are_added_between_their_bounds() -> None:
    fields = [_field([7854.0, 7854.0], 50), _field([], 50)]
    metal = metal_per_area(fields, "hemisphere")
    particles = 50 * np.pi / 12 * 27000
    # Discs 100 wide: one layer 10 high, domes 100/3 high on average; two of them in one of two fields.
    low, high = 7854.0 * 10, 7854.0 * 100 / 3
    assert metal.volume.measured.value == pytest.approx((particles + (low + high) / 2) * 1e-15, rel=1e-3)
    assert "agglomerates hold 33 % of it (18 % to 43 %)" in metal.volume.notes[0]
    height = (high - low) / np.sqrt(12) * 1e-15
    scatter = (low + high) / 2 * 1e-15
    assert metal.volume.measured.u == pytest.approx(np.hypot(height, scatter), rel=1e-3)
    assert 1 < metal.volume.measured.df < 2
    # Area per volume of hemispheres 30 nm wide is 6/d.
    assert metal.metal_area.measured.value == pytest.approx(metal.volume.measured.value * 6 / 30e-9, rel=1e-6)


def test_of_one_field_the_scatter_is_not_known() -> None:
    metal = metal_per_area([_field([7854.0])], "hemisphere")
    assert not np.isfinite(metal.volume.measured.u)
    assert "one field" in metal.volume.measured.why
    assert "agglomerates hold" in metal.volume.notes[0]
