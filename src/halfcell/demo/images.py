"""Micrographs with known particles on a faceted, unevenly lit substrate."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from halfcell.demo.plan import Particles
    from halfcell.results import FloatArray

BAR_ROWS = 48


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Field:
    """One field: its picture (float32, 0 … 1) and the particles whose centres are in it."""

    pixels: NDArray[np.float32]
    x: FloatArray
    y: FloatArray
    diameter: FloatArray
    """m."""
    covered: float
    """Share of the frame inside outlines."""


def draw(particles: Particles, shape: tuple[int, int], pixel: float, rng: np.random.Generator) -> Field:
    """A field of particles, none touching another."""
    rows, columns = shape
    expected = particles.density * rows * columns * pixel**2
    margin = 1.5 * particles.diameter / pixel
    around = expected * (rows + 2 * margin) * (columns + 2 * margin) / (rows * columns)
    count = (
        int(rng.binomial(2 * math.ceil(around), around / (2 * math.ceil(around))))
        if particles.arrangement != "even"
        else round(around)
    )
    radius = 0.5 * _diameters(particles, count, rng) / pixel
    x, y, radius = _place(particles.arrangement, radius, (rows, columns), margin, rng)
    picture = _substrate(shape, rng)
    inside = np.zeros(shape, bool)
    for cx, cy, r in zip(x, y, radius, strict=True):
        _disc(picture, inside, float(cx), float(cy), float(r), 0.62 + 0.05 * float(rng.standard_normal()))
    picture = _seen(picture, rng)
    here = (x >= 0) & (x < columns) & (y >= 0) & (y < rows)
    return Field(
        pixels=picture, x=x[here], y=y[here], diameter=2 * radius[here] * pixel, covered=float(inside.mean())
    )


def _diameters(particles: Particles, count: int, rng: np.random.Generator) -> FloatArray:
    sigma = math.sqrt(math.log1p(particles.spread**2))
    diameter = particles.diameter * np.exp(sigma * rng.standard_normal(count) - sigma**2 / 2)
    if particles.second:
        diameter[rng.random(count) < particles.second] *= 1.9
    return np.asarray(np.maximum(diameter, 9e-9))


def _place(
    kind: str, radius: FloatArray, shape: tuple[int, int], margin: float, rng: np.random.Generator
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Centres in pixels and the radii that found a place; largest first, gaps of at least 3.5 px."""
    rows, columns = shape
    radius = np.sort(radius)[::-1]
    area = (rows + 2 * margin) * (columns + 2 * margin)
    spacing = math.sqrt(area / max(radius.size, 1))
    hubs = rng.random((max(3, radius.size // 12), 2)) * [columns + 2 * margin, rows + 2 * margin] - margin
    xs, ys, rs = np.empty(radius.size), np.empty(radius.size), np.empty(radius.size)
    placed = 0
    for r in radius:
        for attempt in range(400):
            if kind == "clustered":
                point = hubs[rng.integers(len(hubs))] + rng.standard_normal(2) * spacing * (
                    0.9 + attempt / 100
                )
            else:
                point = rng.random(2) * [columns + 2 * margin, rows + 2 * margin] - margin
            if not (-margin <= point[0] < columns + margin and -margin <= point[1] < rows + margin):
                continue
            away = np.hypot(xs[:placed] - point[0], ys[:placed] - point[1])
            gap = np.maximum(
                rs[:placed] + r + 3.5, 0.72 * spacing * (1 - attempt / 800) if kind == "even" else 0.0
            )
            if not placed or bool(np.all(away > gap)):
                xs[placed], ys[placed], rs[placed] = point[0], point[1], r
                placed += 1
                break
    return xs[:placed], ys[:placed], rs[:placed]


def _substrate(shape: tuple[int, int], rng: np.random.Generator) -> NDArray[np.float32]:
    from scipy.spatial import cKDTree

    rows, columns = shape
    coarse = np.stack(np.meshgrid(np.arange(0, columns, 4), np.arange(0, rows, 4)), axis=-1).reshape(-1, 2)
    seeds = rng.random((14, 2)) * [columns, rows]
    facet = cKDTree(seeds).query(coarse)[1].reshape(-(-rows // 4), -(-columns // 4))
    bright = (0.24 + 0.05 * rng.random(14)).astype(np.float32)[facet]
    ground = np.kron(bright, np.ones((4, 4), np.float32))[:rows, :columns]
    down, across = np.linspace(-0.5, 0.5, rows)[:, None], np.linspace(-0.5, 0.5, columns)[None, :]
    tilt = rng.normal(0, 0.03, 2)
    return np.asarray(ground + (tilt[0] * down + tilt[1] * across), dtype=np.float32)


def _disc(
    picture: NDArray[np.float32], inside: NDArray[np.bool_], cx: float, cy: float, r: float, bright: float
) -> None:
    """Draw a disc with an edge of one pixel; pixel centres are at whole numbers."""
    rows, columns = picture.shape
    top, bottom = max(0, math.floor(cy - r - 2)), min(rows, math.ceil(cy + r + 3))
    left, right = max(0, math.floor(cx - r - 2)), min(columns, math.ceil(cx + r + 3))
    if top >= bottom or left >= right:
        return
    away = np.hypot(np.arange(left, right)[None, :] - cx, np.arange(top, bottom)[:, None] - cy)
    share = np.clip(r - away + 0.5, 0, 1).astype(np.float32)
    part = picture[top:bottom, left:right]
    part += share * (np.float32(bright) - part)
    inside[top:bottom, left:right] |= away <= r


def _seen(picture: NDArray[np.float32], rng: np.random.Generator) -> NDArray[np.float32]:
    """Blur, noise that grows with brightness, and a little line noise."""
    from scipy import ndimage

    seen = ndimage.gaussian_filter(picture, 1.1, output=np.float32)
    seen += rng.standard_normal(seen.shape, dtype=np.float32) * (0.045 * np.sqrt(np.maximum(seen, 0.02)))
    seen += rng.standard_normal((seen.shape[0], 1), dtype=np.float32) * np.float32(0.003)
    return np.asarray(np.clip(seen, 0, 1), dtype=np.float32)


def save(field: Field, path: Path, kind: str, pixel: float) -> None:
    """Write as ``tiff16`` (with resolution tags), ``png``, either with `` bar`` (a data bar below)."""
    picture = field.pixels
    if kind.endswith("bar"):
        picture = np.concatenate([picture, _bar(picture.shape[1], pixel)])
    path.parent.mkdir(parents=True, exist_ok=True)
    if kind.startswith("tiff16"):
        import tifffile

        per_centimetre = 0.01 / pixel
        tifffile.imwrite(
            path,
            np.round(picture * 60000).astype(np.uint16),
            resolution=(per_centimetre, per_centimetre),
            resolutionunit="CENTIMETER",
        )
        return
    from PIL import Image

    Image.fromarray(np.round(picture * 255).astype(np.uint8)).save(path, compress_level=1)


def _bar(columns: int, pixel: float) -> NDArray[np.float32]:
    """A black strip with a white scale bar of 200 nm and its text."""
    from PIL import Image, ImageDraw

    strip = Image.new("L", (columns, BAR_ROWS), 0)
    pen = ImageDraw.Draw(strip)
    length = round(200e-9 / pixel)
    pen.rectangle((20, 30, 20 + length, 35), fill=255)
    pen.text((24, 10), "200 nm", fill=255)
    pen.text((columns - 180, 18), "15 kV   invented", fill=255)
    return np.asarray(np.asarray(strip, dtype=np.float32) / np.float32(255), dtype=np.float32)
