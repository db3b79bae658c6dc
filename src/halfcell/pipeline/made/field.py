"""One micrograph, from pixels to what was found in it. Runs in a worker, kept by content."""

from __future__ import annotations

import math
import zlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.errors import MethodError
from halfcell.micrographs.adjust import adjust, masked
from halfcell.micrographs.border import count, extents, inclusion_probability, middles
from halfcell.micrographs.detect import detect
from halfcell.micrographs.detected import Detected
from halfcell.micrographs.evenness import Evenness, evenness
from halfcell.micrographs.objects import together
from halfcell.micrographs.quality import Quality, quality
from halfcell.micrographs.scale_bar import find_scale_bar
from halfcell.micrographs.surface import Shape, Surface, surface
from halfcell.micrographs.window import cells_of
from halfcell.results import read_only

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from halfcell.recording import Micrograph
    from halfcell.results import FloatArray

_SHOWN = 1_000_000
"""Most pixels of the picture kept for drawing."""
_GUARD = 3.0
"""Least pixels along the frame that are left out when the arrangement is judged."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Basics:
    """Sizes and counts of one image: diameters (m), those whole and their weights, number, area (m²), coverage."""

    diameter: FloatArray
    whole: FloatArray
    weight: FloatArray
    number: int
    area: float
    surface: Surface
    agglomerated: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Field:
    """What one image gave; lengths in m, ``found`` in pixels.

    ``whole`` (n,) 1 for particles that the frame does not cut, ``weight`` (n,) 1/P of Miles and
    Lantuéjoul, ``number`` counted on ``area`` (m²), ``picture`` (rows, columns) uint8 shrunk
    ``shrink`` times, ``evenness`` None where there are too few particles (``why`` says so), ``agglomerated``
    the share of the metal's area in agglomerates; ``before`` the same without a person's decisions,
    None where there are none, ``unfit`` the decisions that fit nothing.
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
    agglomerated: float
    before: Basics | None
    unfit: tuple[str, ...]
    decided: int
    evenness: Evenness | None
    guard: float
    """Pixels left out along the frame when the arrangement is judged."""
    why: str
    quality: Quality
    bar_rows: int
    picture: NDArray[np.uint8]
    shrink: int
    masks: tuple[FloatArray, ...]
    """Polygons (k, 2) of the regions a person masked, pixels."""
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
    scale, notes = _scale(micrograph, rows, decisions)
    found = detect(pixels, smallest=max(3.0, (smallest or 0.0) / scale))
    changes = [d for d in decisions if d["kind"] != "scale bar"]
    changed, unfit = found, []
    for decision in changes:
        try:
            changed = adjust(changed, [decision])
        except MethodError as refused:
            unfit.append(f"{micrograph.file}: {refused}")
    mask = masked(changes, found.rows, found.columns)
    if mask is not None and bool(mask.all()):
        raise MethodError(f"{micrograph.file}: masks cover the whole image; nothing is left to measure. Make a mask smaller, or take the image out of runs.csv.")  # fmt: skip
    own = basics(changed, scale, shape, 0.0 if mask is None else float(mask.sum()))
    # Each field has random patterns of its own, the same at every run.
    own_seed = (seed + zlib.crc32(micrograph.file.encode())) % 2**32
    guard = max(_GUARD, 0.1 * float(np.median(changed.diameter)) if len(changed) else 0.0)
    arranged, why = _arranged(changed, guard, level, own_seed, mask)
    shrink = max(1, math.ceil(math.sqrt(pixels.size / _SHOWN)))
    typical = float(np.median(changed.diameter)) if len(changed) else math.nan
    contrast = float(np.nanmedian(changed.contrast)) if len(changed) else math.nan
    return Field(
        file=micrograph.file, found=changed, metres_per_pixel=scale, scale_from=notes[0], diameter=own.diameter, whole=own.whole,
        weight=own.weight, number=own.number, area=own.area, surface=own.surface, agglomerated=own.agglomerated,
        before=basics(found, scale, shape, 0.0) if changes else None, unfit=tuple(unfit), decided=len(changes),
        evenness=arranged, guard=guard, why=why,
        quality=quality(pixels, blur=found.blur, typical_diameter=typical, noise=found.noise, contrast=contrast, bits=micrograph.bits,
        elongation=changed.elongation[changed.cut < 0.5], contrasts=changed.contrast[np.isfinite(changed.contrast)], agglomerated=own.agglomerated),
        bar_rows=rows, picture=shrunk(pixels, shrink), shrink=shrink,
        masks=tuple(read_only(d["polygon"]) for d in changes if d["kind"] == "mask region"), notes=(*micrograph.assumed, *notes[1:]),
    )  # fmt: skip


def _scale(
    micrograph: Micrograph, rows: int, decisions: Sequence[dict[str, Any]]
) -> tuple[float, tuple[str, ...]]:
    """Metres per pixel and where it comes from, with notes: a person's scale bar goes before all else."""
    given = [d for d in decisions if d["kind"] == "scale bar"]
    if given:
        bar = find_scale_bar(micrograph.pixels, bar_rows=rows)
        scale = float(given[-1]["length"]) / bar.length
        note = f"the scale bar found is {bar.length} pixels long (from x = {bar.x}, y = {bar.y}); with the length given a pixel is {scale * 1e9:.4g} nm"
        if math.isfinite(micrograph.metres_per_pixel) and abs(scale / micrograph.metres_per_pixel - 1) > 0.02:
            note += f", not the {micrograph.metres_per_pixel * 1e9:.4g} nm of the {micrograph.scale_from}"
        return scale, ("scale bar", note)
    if not math.isfinite(micrograph.metres_per_pixel):
        raise MethodError(
            f'{micrograph.file}: the scale is not known. Write the length of a pixel in runs.csv (scale = "1.5 nm"), '
            'or the length of the scale bar as an adjustment (kind = "scale bar", length = "200 nm").'
        )
    return micrograph.metres_per_pixel, (micrograph.scale_from,)


def basics(found: Detected, scale: float, shape: str, hidden: float) -> Basics:
    """Sizes, counts and sums of the particles of one image, ``hidden`` pixels of it masked."""
    width, height = float(found.columns), float(found.rows)
    feret = extents(found.outline, found.first)
    chance = inclusion_probability(feret[:, 0], feret[:, 1], width=width, height=height)
    whole = (found.cut < 0.5) & (chance > 0.05)
    middle = middles(found.x, found.y, found.diameter, found.cut, found.outline, found.first, width=width, height=height)  # fmt: skip
    counted = count(middle.x, middle.y, width=width, height=height)
    seen = 1 - hidden / (width * height)
    kind: Shape = "sphere" if shape == "sphere" else "hemisphere"
    # In the frame's own coordinates the first pixel's centre lies half a pixel in.
    sums = surface(found.x + 0.5, found.y + 0.5, found.diameter, width=width, height=height, shape=kind)
    clumped = float(found.clump_area.sum()) / (width * height)
    alone = sums.coverage
    sums = replace(
        sums, coverage=(alone + clumped) / seen, volume=sums.volume / seen, metal_area=sums.metal_area / seen
    )
    return Basics(
        diameter=read_only(found.diameter * scale), whole=read_only(whole), weight=read_only(1 / np.maximum(chance, 0.05)),
        number=counted.number, area=counted.area * seen * scale**2, surface=sums,
        agglomerated=clumped / (alone + clumped) if alone + clumped > 0 else 0.0,
    )  # fmt: skip


def _arranged(
    found: Detected, guard: float, level: float, seed: int, mask: NDArray[np.bool_] | None
) -> tuple[Evenness | None, str]:
    """The arrangement of the objects of an image: particles in contact and agglomerates count as one each.

    A strip of ``guard`` pixels along the frame is left out: of a particle whose centre lies beyond the frame
    only a sliver is seen, and slivers may come in two, which would pass for close neighbours. What is masked is left out, of the random patterns too.
    """
    u, v, d = together(found.x + 0.5, found.y + 0.5, found.diameter, found.group)
    u, v = np.append(u, found.clump_x + 0.5) - guard, np.append(v, found.clump_y + 0.5) - guard
    d = np.append(d, 2 * np.sqrt(found.clump_area / math.pi))
    width, height = found.columns - 2 * guard, found.rows - 2 * guard
    seen = None if mask is None else cells_of(mask, guard=guard)
    try:
        return evenness(u, v, d, width=width, height=height, seed=seed, level=level, seen=seen), ""
    except MethodError as refused:
        return None, str(refused)


def shrunk(pixels: NDArray[np.float32], by: int) -> NDArray[np.uint8]:
    """The image for drawing: means of ``by`` × ``by`` pixels, stretched between its 0.2 and 99.8 percentiles."""
    rows, columns = pixels.shape[0] // by * by, pixels.shape[1] // by * by
    small = pixels[:rows, :columns].reshape(rows // by, by, columns // by, by).mean(axis=(1, 3))
    low, high = np.quantile(small, [0.002, 0.998])
    out = np.clip((small - low) / max(high - low, 1e-6), 0, 1)
    return np.asarray(np.round(out * 255), dtype=np.uint8)
