"""Ripley's K against published values and against counting by hand."""

from __future__ import annotations

import numpy as np
import pytest

from halfcell.errors import MethodError
from halfcell.micrographs.ripley import ripley_k, ripley_l, share_inside
from halfcell.micrographs.window import window_of

R = [0.1015, 0.1515, 0.2015]


@pytest.mark.reference(
    "K of 42 cells, isotropic, translation and no correction",
    "Ripley 1977 data; values of R spatstat 3.0.6",
    "recomputed",
)
@pytest.mark.parametrize(
    ("correction", "expected"),
    [
        ("isotropic", [0.00116144018583, 0.05627702720677, 0.12667216105008]),
        ("translation", [0.00130385359471, 0.05825863044225, 0.13380984658428]),
        ("none", [0.00116144018583, 0.04878048780488, 0.10801393728223]),
    ],
)
def test_cells(cells, correction: str, expected: list[float]) -> None:
    assert ripley_k(*cells, R, width=1, height=1, correction=correction) == pytest.approx(expected, rel=1e-9)


def test_no_pair_within_the_hard_core(cells) -> None:
    assert ripley_k(*cells, [0.02, 0.08], width=1, height=1).tolist() == [0, 0]


@pytest.mark.parametrize("correction", ["isotropic", "translation"])
def test_unbiased_for_random_points(correction: str) -> None:
    rng = np.random.default_rng(2)
    r = np.array([0.05, 0.1, 0.2])
    found = np.mean(
        [ripley_k(*rng.random((2, 80)), r, width=1, height=1, correction=correction) for _ in range(300)],
        axis=0,
    )
    assert found == pytest.approx(np.pi * r**2, rel=0.03)
    assert ripley_l(np.pi * r**2) == pytest.approx(r)


def test_share_of_circle_against_many_points() -> None:
    rng = np.random.default_rng(3)
    angle = (np.arange(20000) + 0.5) / 20000 * 2 * np.pi
    for x, y, r in zip(rng.random(40) * 3, rng.random(40) * 2, rng.random(40) * 0.9, strict=True):
        u, v = x + r * np.cos(angle), y + r * np.sin(angle)
        counted = ((u > 0) & (u < 3) & (v > 0) & (v < 2)).mean()
        assert share_inside(np.array([x]), np.array([y]), np.array([r]), 3, 2)[0] == pytest.approx(
            counted, abs=1e-3
        )


def test_masked_quarter_is_unbiased_for_random_points() -> None:
    """Points at random in a window less a quarter have K = πr²; as if nothing were masked, K is far above."""
    seen = np.ones((80, 80), bool)
    seen[:40, :40] = False
    window = window_of(1, 1, seen)
    rng = np.random.default_rng(5)
    r = np.array([0.05, 0.1, 0.2])
    patterns = [window.random(rng, 80).astype(float).T for _ in range(300)]
    found = np.mean([ripley_k(*p, r, width=1, height=1, window=window) for p in patterns], axis=0)
    assert found == pytest.approx(np.pi * r**2, rel=0.03)
    blind = np.mean([ripley_k(*p, r, width=1, height=1) for p in patterns], axis=0)
    assert (blind > 1.1 * np.pi * r**2).all()


def test_whole_window_changes_nothing(cells) -> None:
    plain = ripley_k(*cells, R, width=1, height=1)
    assert ripley_k(*cells, R, width=1, height=1, window=window_of(1, 1)) == pytest.approx(plain, rel=1e-12)


def test_isotropic_correction_is_for_rectangles(cells) -> None:
    window = window_of(1, 1, np.array([[True, False]]))
    with pytest.raises(MethodError, match="translation"):
        ripley_k(*cells, R, width=1, height=1, correction="isotropic", window=window)
