"""Warnings come when they should, and not on a good image."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image

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


def _examined(pixels):
    found = detect(pixels)
    whole = found.cut < 0.5
    clumped = float(found.clump_area.sum())
    alone = float((np.pi / 4 * found.diameter**2).sum())
    return quality(
        pixels, blur=found.blur, typical_diameter=float(np.median(found.diameter)), noise=found.noise,
        contrast=float(np.median(found.contrast)), elongation=found.elongation[whole], contrasts=found.contrast,
        agglomerated=clumped / (alone + clumped),
    )  # fmt: skip


@pytest.mark.parametrize(
    "kind",
    [
        {"touching": 0.6},
        {"arrangement": "clustered", "density": 200e12},
        {"diameter_median": 12e-9, "noise": 0.05, "contrast": 0.2},
        {"grain_edges": 0.2, "facet_contrast": 0.08},
        {"sigma_g": 1.8},
        {"brightness_spread": 0.25},
    ],
)
def test_round_particles_of_all_kinds_are_not_doubted(kind) -> None:
    made = make_micrograph(np.random.default_rng(2), shape=(500, 700), **kind)
    assert _examined(made.pixels).doubts == ()


@pytest.mark.slow
@pytest.mark.reference(
    "images of irregular fragments are doubted in words",
    "Bai et al. 2022, IET Nanodielectrics 5, 93 (images of the authors)",
    "seen",
)
@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("point5C3_2", ("not round", "texture")),
        ("2C3_0", ("not round", "agglomerates")),
        ("5un_0", ("not round", "agglomerates")),
        ("10C3_0", ("not round", "agglomerates")),
    ],
)
def test_fragments_are_doubted(shared_data, name: str, said: tuple[str, ...]) -> None:
    pixels = np.asarray(
        Image.open(shared_data / "agglomerate_images" / f"{name}.jpg").convert("L"), np.float32
    )
    found = _examined(pixels / 255)
    assert "Look at the outlines" in " ".join(found.doubts)
    assert set(found.doubts) <= set(found.warnings)
    for word in said:
        assert any(word in w for w in found.doubts), word
