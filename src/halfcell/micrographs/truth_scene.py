"""The scene of a synthetic micrograph: substrate, particles, blur and noise."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from halfcell.results import FloatArray


def substrate(
    rng: np.random.Generator,
    shape: tuple[int, int],
    *,
    level: float,
    facets: int,
    facet_contrast: float,
    grain_edges: float,
    shading: float,
) -> tuple[FloatArray, NDArray[np.int32]]:
    """Brightness (rows, columns) of the bare substrate, and the number of the grain of each pixel."""
    rows, columns = shape
    v, u = np.mgrid[0:rows, 0:columns].astype(np.float64)
    slope = rng.normal(size=5)
    slope /= np.linalg.norm(slope)
    p, q = u / columns * 2 - 1, v / rows * 2 - 1
    ground = level + shading * (
        slope[0] * p + slope[1] * q + slope[2] * (p * p - 0.33) + slope[3] * (q * q - 0.33) + slope[4] * p * q
    )
    facet = np.zeros(shape, dtype=np.int32)
    if facets:
        from scipy.spatial import cKDTree

        seeds = np.column_stack([rng.random(facets) * columns, rng.random(facets) * rows])
        wave = [rng.normal(size=4) for _ in range(2)]
        bend = [2.5 * np.sin(w[0] + u * (0.02 + 0.01 * w[1]) + v * (0.02 + 0.01 * w[2])) for w in wave]
        found, of = cKDTree(seeds).query(
            np.column_stack([(u + bend[0]).ravel(), (v + bend[1]).ravel()]), k=min(2, facets)
        )
        of = np.asarray(of).reshape(*shape, -1)
        facet = of[..., 0].astype(np.int32)
        ground += rng.normal(0, facet_contrast, facets)[facet]
        if facets > 1:
            apart = np.linalg.norm(seeds[of[..., 0]] - seeds[of[..., 1]], axis=-1)
            near = np.asarray(found).reshape(*shape, -1)
            distance = (near[..., 1] ** 2 - near[..., 0] ** 2) / (2 * np.maximum(apart, 1e-9))
            ground += grain_edges * np.exp(-0.5 * (distance / 1.3) ** 2)
    return ground, facet


def paint_particles(
    rng: np.random.Generator,
    ground: FloatArray,
    x: FloatArray,
    y: FloatArray,
    diameter: FloatArray,
    *,
    contrast: float,
    spread: float,
    dome: float,
) -> FloatArray:
    """The substrate with discs on it, each pixel by the share of it that a disc covers."""
    scene = ground.copy()
    rows, columns = scene.shape
    for u, v, d in zip(x, y, diameter, strict=True):
        bright = contrast * max(0.4, 1 + spread * rng.standard_normal())
        reach = d / 2 + 2
        left, right = max(0, math.floor(u - reach)), min(columns, math.ceil(u + reach) + 1)
        top, bottom = max(0, math.floor(v - reach)), min(rows, math.ceil(v + reach) + 1)
        if left >= right or top >= bottom:
            continue
        # 5 × 5 points in each pixel give the covered share to better than 1 % of a pixel.
        sub = (np.arange(5) - 2) / 5
        q = (np.arange(top, bottom)[:, None] + sub)[:, None, :, None] - v
        p = (np.arange(left, right)[:, None] + sub)[None, :, None, :] - u
        square = (p * p + q * q) / (d / 2) ** 2
        inside = square <= 1
        share = inside.mean(axis=(2, 3))
        profile = (inside * (1 + dome * (0.5 - square))).sum(axis=(2, 3)) / 25
        patch = scene[top:bottom, left:right]
        below = ground[min(rows - 1, max(0, round(v))), min(columns - 1, max(0, round(u)))]
        patch *= 1 - share
        patch += below * share + bright * profile
    return scene


def add_noise(
    rng: np.random.Generator, scene: FloatArray, *, level: float, blur: float, noise: float, line_noise: float
) -> FloatArray:
    """Blurred by the beam, then counted: Poisson noise of the stated size at ``level``, and row noise."""
    if blur > 0:
        from scipy.ndimage import gaussian_filter

        scene = gaussian_filter(scene, blur, mode="nearest")
    if noise > 0:
        per_unit = level / noise**2
        scene = rng.poisson(np.maximum(scene, 0) * per_unit) / per_unit
    if line_noise > 0:
        scene = scene + rng.normal(0, line_noise, (scene.shape[0], 1))
    return np.clip(scene, 0, 1)


def data_bar(rows: int, columns: int, metres_per_pixel: float) -> tuple[FloatArray, float]:
    """A dark strip with a white scale bar of a round length, and that length in m."""
    wanted = columns * metres_per_pixel / 5
    power = 10 ** math.floor(math.log10(wanted))
    length = next(step * power for step in (5, 2, 1) if step * power <= wanted * (1 + 1e-9))
    pixels = round(length / metres_per_pixel)
    strip = np.zeros((rows, columns))
    from PIL import Image, ImageDraw

    drawn = Image.new("L", (columns, rows), 0)
    pen = ImageDraw.Draw(drawn)
    left, middle = columns - pixels - max(8, columns // 40), rows // 2
    pen.rectangle((left, middle - 1, left + pixels - 1, middle + 1), fill=255)
    name = f"{length * 1e9:g} nm" if length < 1e-6 else f"{length * 1e6:g} um"
    pen.text((max(2, columns // 40), max(0, middle - 5)), f"INVENTED IMAGE   scale bar {name}", fill=255)
    strip[:] = np.asarray(drawn, dtype=np.float64) / 255
    return strip, length
