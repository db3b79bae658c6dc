"""Warnings come when they should, and not on a good image."""

from __future__ import annotations

import numpy as np

from halfcell.micrographs.detect import detect
from halfcell.micrographs.quality import quality
from halfcell.micrographs.truth import make_micrograph


def _judge(made):
    found = detect(made.pixels)
    return quality(made.pixels, blur=found.blur, typical_diameter=float(np.median(found.diameter)), noise=found.noise, contrast=float(np.median(found.contrast)))  # fmt: skip


def test_good_image_has_no_warning() -> None:
    assert _judge(make_micrograph(np.random.default_rng(1))).warnings == ()


def test_burnt_out() -> None:
    made = make_micrograph(np.random.default_rng(1), contrast=0.8, noise=0.01)
    assert any("burnt out" in w for w in _judge(made).warnings)


def test_out_of_focus() -> None:
    made = make_micrograph(
        np.random.default_rng(1), diameter_median=24e-9, blur=4.5, noise=0.01, contrast=0.4, density=30e12
    )
    assert any("focus" in w for w in _judge(made).warnings)


def test_flat_and_noisy() -> None:
    said = quality(
        np.full((64, 64), 0.5, np.float32), blur=np.nan, typical_diameter=np.nan, noise=0.1, contrast=0.2
    ).warnings
    assert any("grey levels" in w for w in said)
    assert any("times the noise" in w for w in said)
