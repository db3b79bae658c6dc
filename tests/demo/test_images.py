"""The demo's micrographs: the particles that are said are the particles that are drawn."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from halfcell.demo import images
from halfcell.demo.plan import Particles
from halfcell.pipeline.loading import load

PIXEL = 1.5e-9
SHAPE = (400, 500)


def _drawn(arrangement: str, seed: int = 1) -> images.Field:
    particles = Particles(diameter=45e-9, spread=0.2, density=60e12, arrangement=arrangement)  # type: ignore[arg-type]
    return images.draw(particles, SHAPE, PIXEL, np.random.default_rng(seed))


def test_bright_area_is_that_of_the_particles() -> None:
    field = _drawn("even")
    bright = float((field.pixels > 0.45).mean())
    assert bright == pytest.approx(field.covered, rel=0.05)
    inside = np.sum(np.pi / 4 * (field.diameter / PIXEL) ** 2) / (SHAPE[0] * SHAPE[1])
    assert field.covered == pytest.approx(inside, rel=0.15)


@pytest.mark.parametrize("arrangement", ["even", "random", "clustered"])
def test_no_particle_touches_another(arrangement: str) -> None:
    field = _drawn(arrangement)
    away = np.hypot(field.x[:, None] - field.x, field.y[:, None] - field.y)
    reach = (field.diameter[:, None] + field.diameter) / 2 / PIXEL
    np.fill_diagonal(away, np.inf)
    assert np.all(away - reach > 3)


def test_arrangements_differ_in_nearest_neighbours() -> None:
    ratios = {}
    for arrangement in ("even", "random", "clustered"):
        values = []
        for seed in range(4):
            field = _drawn(arrangement, seed)
            away = np.hypot(field.x[:, None] - field.x, field.y[:, None] - field.y)
            np.fill_diagonal(away, np.inf)
            values.append(away.min(axis=1).mean() * 2 * np.sqrt(field.x.size / (SHAPE[0] * SHAPE[1])))
        ratios[arrangement] = np.mean(values)
    assert ratios["even"] > ratios["random"] > ratios["clustered"]


@pytest.mark.parametrize(
    ("kind", "bits", "bar"),
    [("tiff16", 16, False), ("tiff16 bar", 16, True), ("png", 8, False), ("png bar", 8, True)],
)
def test_a_micrograph_is_read_as_it_was_made(kind: str, bits: int, bar: bool, tmp_path: Path) -> None:
    field = _drawn("random")
    name = "Ni-1_field1.tif" if kind.startswith("tiff") else "Ni-1_field1.png"
    images.save(field, tmp_path / name, kind, PIXEL)
    read = load(tmp_path, name, image=True, scale=None if kind.startswith("tiff") else PIXEL)
    assert read.bits == bits
    assert read.metres_per_pixel == pytest.approx(PIXEL, rel=1e-6)
    assert read.bar_rows == (images.BAR_ROWS if bar else 0)
    scale = 60000 / 65535 if bits == 16 else 1.0
    assert read.pixels[: SHAPE[0]] == pytest.approx(field.pixels * scale, abs=0.003)


@pytest.mark.parametrize("seed", [503, 504, 511])
def test_slivers_at_the_frame_are_no_close_neighbours(seed: int) -> None:
    from halfcell.demo.plan import CANDIDATES
    from halfcell.pipeline.made.field import examine
    from halfcell.recording import Micrograph

    particles = CANDIDATES[3].particles
    assert particles is not None
    assert particles.arrangement == "random"
    field = images.draw(particles, (768, 1024), PIXEL, np.random.default_rng(seed))
    seen = examine(
        Micrograph(file="a", sha256="", pixels=field.pixels, metres_per_pixel=PIXEL, scale_from="study")
    )
    assert seen.evenness is not None
    assert seen.evenness.verdict == "random"
