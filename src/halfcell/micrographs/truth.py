"""Synthetic micrographs with known particles: bright metal on an uneven, polycrystalline substrate.

Everything an image can do to a particle count is here on purpose and can be dialled: facets of
different brightness, bright grain edges, shading, optical blur, counting (Poisson) noise, line
noise, log-normal diameters, random, even or clustered positions, touching pairs, a data bar.
No image made here shows a real sample.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from halfcell.micrographs.truth_positions import arrange, touching_partners
from halfcell.micrographs.truth_scene import add_noise, data_bar, paint_particles, substrate

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from halfcell.results import FloatArray

Arrangement = Literal["random", "even", "clustered"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SyntheticMicrograph:
    """An invented image and what is in it.

    ``pixels`` (rows, columns) float32, 0 … 1, with the data bar as its last ``bar_rows`` rows.
    ``x``, ``y`` (columns, rows; pixels from the centre of the first pixel) and ``diameter``
    (pixels) of every particle that reaches into the frame, in no order; ``pair`` numbers
    touching pairs (−1: stands alone). ``facet`` (rows, columns) numbers the grains, and
    ``bar_length`` is the length of the scale bar drawn, m (nan without a bar).
    """

    pixels: NDArray[np.float32]
    metres_per_pixel: float
    x: FloatArray
    y: FloatArray
    diameter: FloatArray
    pair: NDArray[np.int64]
    facet: NDArray[np.int32]
    contrast: float
    noise: float
    arrangement: str
    bar_rows: int
    bar_length: float

    @property
    def contrast_to_noise(self) -> float:
        """Contrast of a particle over the standard deviation of one pixel of the substrate."""
        return self.contrast / self.noise if self.noise > 0 else math.inf


def make_micrograph(
    rng: np.random.Generator,
    *,
    shape: tuple[int, int] = (768, 1024),
    metres_per_pixel: float = 2e-9,
    diameter_median: float = 40e-9,
    sigma_g: float = 1.25,
    density: float = 60e12,
    arrangement: Arrangement = "random",
    touching: float = 0.0,
    contrast: float = 0.3,
    brightness_spread: float = 0.08,
    dome: float = 0.0,
    substrate_level: float = 0.35,
    facets: int = 12,
    facet_contrast: float = 0.04,
    grain_edges: float = 0.08,
    shading: float = 0.08,
    blur: float = 1.2,
    noise: float = 0.03,
    line_noise: float = 0.006,
    bar_rows: int = 0,
    bits: int | None = 8,
) -> SyntheticMicrograph:
    """An invented micrograph of discs on a polycrystalline substrate, with the truth.

    Parameters
    ----------
    rng : source of all randomness.
    shape : rows and columns, without the data bar.
    metres_per_pixel : m.
    diameter_median, sigma_g : median (m) and geometric standard deviation of log-normal diameters.
    density : particles per area, 1/m².
    arrangement : "random" (hard discs at random), "even" (disturbed hexagonal lattice) or
        "clustered" (hard discs around random centres).
    touching : share of particles that have a partner in contact.
    contrast : brightness of a particle above the substrate below it, share of full scale;
        ``brightness_spread`` is its relative spread, ``dome`` how much brighter the centre is.
    substrate_level, facets, facet_contrast, grain_edges, shading : the substrate's mean level,
        number of grains (0: none), standard deviation of their levels, brightness of the edges
        between them, amplitude of the shading.
    blur : standard deviation of the optical blur, pixels.
    noise : standard deviation of one pixel at the substrate's level (Poisson, so brighter
        pixels are noisier); ``line_noise`` that of whole rows.
    bar_rows : rows of a data bar with a scale bar, below the image (0: none).
    bits : grey levels the image is rounded to (None: not rounded).
    """
    rows, columns = shape
    median = diameter_median / metres_per_pixel
    margin = 2.0 * median * sigma_g**2
    expected = density * metres_per_pixel**2 * (rows + 2 * margin) * (columns + 2 * margin)
    count = int(rng.poisson(expected)) if arrangement != "even" else round(expected)
    diameter = median * sigma_g ** rng.standard_normal(count)
    box = (-margin, columns + margin, -margin, rows + margin)
    alone = round(count * (1 - touching / 2))
    placed = arrange(rng, diameter[:alone], box, arrangement)
    x, y, diameter, pair = touching_partners(rng, placed, diameter[:alone], diameter[alone:])
    ground, facet = substrate(
        rng, shape, level=substrate_level, facets=facets, facet_contrast=facet_contrast,
        grain_edges=grain_edges, shading=shading,
    )  # fmt: skip
    scene = paint_particles(
        rng, ground, x, y, diameter, contrast=contrast, spread=brightness_spread, dome=dome
    )
    pixels = add_noise(rng, scene, level=substrate_level, blur=blur, noise=noise, line_noise=line_noise)
    bar_length = math.nan
    if bar_rows:
        strip, bar_length = data_bar(bar_rows, columns, metres_per_pixel)
        pixels = np.vstack([pixels, strip])
    if bits is not None:
        steps = 2**bits - 1
        pixels = np.round(pixels * steps) / steps
    inside = (np.abs(x - (columns - 1) / 2) < columns / 2 + diameter / 2) & (
        np.abs(y - (rows - 1) / 2) < rows / 2 + diameter / 2
    )
    return SyntheticMicrograph(
        pixels=pixels.astype(np.float32), metres_per_pixel=metres_per_pixel, x=x[inside], y=y[inside],
        diameter=diameter[inside], pair=pair[inside], facet=facet, contrast=contrast, noise=noise,
        arrangement=arrangement, bar_rows=bar_rows, bar_length=bar_length,
    )  # fmt: skip
