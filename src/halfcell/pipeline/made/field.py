"""One micrograph, from pixels to what was found in it. Runs in a worker, kept by content."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.errors import MethodError
from halfcell.micrographs.border import count, extents, inclusion_probability
from halfcell.micrographs.detect import Detected, detect
from halfcell.micrographs.evenness import Evenness, evenness
from halfcell.micrographs.objects import together
from halfcell.micrographs.quality import Quality, quality
from halfcell.micrographs.surface import Surface, surface
from halfcell.results import read_only

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from halfcell.recording import Micrograph
    from halfcell.results import FloatArray

_SHOWN = 1_000_000
"""Most pixels of the picture kept for drawing."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Field:
    """What one image gave; lengths in m, ``found`` in pixels.

    ``whole`` (n,) 1 for particles that the frame does not cut, ``weight`` (n,) 1/P of Miles and
    Lantuéjoul, ``number`` counted on ``area`` (m²), ``picture`` (rows, columns) uint8 shrunk
    ``shrink`` times, ``evenness`` None where there are too few particles (``why`` says so).
    """

    file: str
    found: Detected
    metres_per_pixel: float
    scale_from: str
    diameter: FloatArray
    whole: FloatArray
    weight: FloatArray
    number: int
    area: float
    surface: Surface
    evenness: Evenness | None
    why: str
    quality: Quality
    bar_rows: int
    picture: NDArray[np.uint8]
    shrink: int
    notes: tuple[str, ...]


def examine(
    micrograph: Micrograph,
    *,
    data_bar: str | int = "auto",
    shape: str = "hemisphere",
    smallest: float | None = None,
    level: float = 0.95,
    seed: int = 0,
    decisions: Sequence[dict[str, Any]] = (),
) -> Field:
    """Find, outline and describe the particles of one image; ``decisions`` of a person are replayed.

    Raises MethodError where the scale is unknown or nothing can be measured.
    """
    rows = micrograph.bar_rows if data_bar == "auto" else 0 if data_bar == "keep" else int(data_bar)
    pixels = micrograph.pixels[: micrograph.pixels.shape[0] - rows]
    scale, said = micrograph.metres_per_pixel, micrograph.scale_from
    if not math.isfinite(scale):
        raise MethodError(
            f'{micrograph.file}: the scale is not known. Write the length of a pixel in runs.csv (scale = "1.5 nm"), '
            'or the length of the scale bar as an adjustment (kind = "scale bar", length = "200 nm").'
        )
    found = detect(pixels, smallest=max(4.0, (smallest or 0.0) / scale))
    return describe(
        found, pixels, file=micrograph.file, scale=scale, scale_from=said, bits=micrograph.bits, bar_rows=rows,
        shape=shape, level=level, seed=seed, notes=micrograph.assumed,
    )  # fmt: skip


def describe(
    found: Detected,
    pixels: NDArray[np.float32],
    *,
    file: str,
    scale: float,
    scale_from: str,
    bits: int,
    bar_rows: int,
    shape: str,
    level: float,
    seed: int,
    notes: tuple[str, ...] = (),
) -> Field:
    """Sizes, counts, sums and arrangement of the particles found in one image."""
    width, height = float(found.columns), float(found.rows)
    feret = extents(found.outline, found.first)
    chance = inclusion_probability(feret[:, 0], feret[:, 1], width=width, height=height)
    whole = (found.cut < 0.5) & (chance > 0.05)
    counted = count(found.x, found.y, found.diameter, width=width, height=height)
    # In the frame's own coordinates the first pixel's centre lies half a pixel in.
    x, y = found.x + 0.5, found.y + 0.5
    sums = surface(
        x,
        y,
        found.diameter,
        width=width,
        height=height,
        shape="sphere" if shape == "sphere" else "hemisphere",
    )
    u, v, d = together(x, y, found.diameter, found.group)
    arranged, why = None, ""
    try:
        arranged = evenness(u, v, d, width=width, height=height, seed=seed, level=level)
    except MethodError as refused:
        why = str(refused)
    typical = float(np.median(found.diameter)) if len(found) else math.nan
    contrast = float(np.median(found.contrast)) if len(found) else math.nan
    shrink = max(1, math.ceil(math.sqrt(pixels.size / _SHOWN)))
    return Field(
        file=file, found=found, metres_per_pixel=scale, scale_from=scale_from, diameter=read_only(found.diameter * scale),
        whole=read_only(whole), weight=read_only(1 / np.maximum(chance, 0.05)), number=counted.number,
        area=counted.area * scale**2, surface=sums, evenness=arranged, why=why,
        quality=quality(pixels, blur=found.blur, typical_diameter=typical, noise=found.noise, contrast=contrast, bits=bits),
        bar_rows=bar_rows, picture=shrunk(pixels, shrink), shrink=shrink, notes=notes,
    )  # fmt: skip


def shrunk(pixels: NDArray[np.float32], by: int) -> NDArray[np.uint8]:
    """The image for drawing: means of ``by`` × ``by`` pixels, stretched between its 0.2 and 99.8 percentiles."""
    rows, columns = pixels.shape[0] // by * by, pixels.shape[1] // by * by
    small = pixels[:rows, :columns].reshape(rows // by, by, columns // by, by).mean(axis=(1, 3))
    low, high = np.quantile(small, [0.002, 0.998])
    out = np.clip((small - low) / max(high - low, 1e-6), 0, 1)
    return np.asarray(np.round(out * 255), dtype=np.uint8)
