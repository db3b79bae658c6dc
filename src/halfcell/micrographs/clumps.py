"""Bright regions that are no single smooth particle: agglomerates, and particles with a rough surface."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from halfcell.micrographs.circles import arc_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from halfcell.results import FloatArray

_SMALLEST = 12.0
"""Smallest equal-area diameter of a region taken as one, pixels."""
_SMALLEST_CLUMP = 450.0
"""Smallest agglomerate, pixels²."""
_HALO = 2.0
"""How far the smoothing here spreads a particle, pixels of the halved image."""
_ALIKE = 0.6
"""Least brightness of the rest of a region beside that of the particles on it."""
_ROUGH = 1.75
"""Relief of a region over that of the background, below which it is as smooth as a facet."""
_THIN = 7.0
"""Half the width of a long region, pixels, below which it is a line: a grain edge, a charging streak."""
_AROUND = 0.9
"""Least share of the surroundings of a smooth region that is dark."""


@dataclass(slots=True, kw_only=True, eq=False)
class Regions:
    """Regions (m) above half height that single particles do not account for, in pixels.

    ``compact`` true where a region is one rough particle, false for an agglomerate; ``polygon`` its
    outline; ``area`` pixels², holes filled; ``contrast`` above the substrate; ``cut`` where the frame
    cuts it. ``inside`` (n,) says which of the candidate particles lie in one of them.
    """

    x: FloatArray
    y: FloatArray
    area: FloatArray
    contrast: FloatArray
    elongation: FloatArray
    compact: NDArray[np.bool_]
    cut: NDArray[np.bool_]
    polygon: list[NDArray[np.float32]]
    inside: NDArray[np.bool_]


def find_regions(
    smoothed: NDArray[np.float32],
    x: FloatArray,
    y: FloatArray,
    area: FloatArray,
    *,
    noise: float,
    pixel_noise: float,
) -> Regions:
    """Regions brighter than half of the bright level above a slow background, not explained by particles.

    Parameters
    ----------
    smoothed : (rows, columns) array, share of full scale.
    x, y, area : (n,) particles found so far (pixels), which explain a region when their areas make
        up 40 % of it.
    noise, pixel_noise : standard deviation of one smoothed and of one raw pixel.

    Notes
    -----
    The background is the lower quartile in windows of a third of the image, so that it is not
    eaten into by agglomerates; facets do not matter because a region must stand half of the bright
    level above it. A region of solidity over 0.88 and elongation under 1.8 is taken as one rough particle.
    """
    from scipy import ndimage

    step = 2 if smoothed.size > 60_000 else 1
    level = _shrunk(smoothed, step)
    level = ndimage.gaussian_filter(level, 1.5 if step == 2 else 1.2, mode="nearest", truncate=3.0)
    above = level - _background(level)
    some = above[:: max(1, above.shape[0] // 256)]
    middle = float(np.median(some))
    usual = some[some < middle]
    texture = max(float(np.median(middle - usual)) / 0.6745, noise / 2)
    bright = above[above > 0.5 * np.quantile(some, 0.995)]
    contrast = float(np.median(bright)) if bright.size else 0.0
    nothing = _empty(len(x))
    if contrast < max(4.5 * texture, 3 * pixel_noise):
        return nothing
    mask = above > max(3.5 * texture, 0.5 * contrast)
    mask = ndimage.binary_opening(mask, np.ones((3, 3), bool))
    label, count = ndimage.label(mask)
    if not count:
        return nothing
    size = np.bincount(label.ravel(), minlength=count + 1).astype(float) * step * step
    row = np.clip(np.floor((y + 0.5) / step).astype(int), 0, label.shape[0] - 1)
    column = np.clip(np.floor((x + 0.5) / step).astype(int), 0, label.shape[1] - 1)
    of = label[row, column] if len(x) else np.empty(0, dtype=int)
    explained = np.bincount(of, weights=area, minlength=count + 1)
    # One particle little larger than the blur fills its region with its halo.
    halo = np.zeros(count + 1)
    np.maximum.at(halo, of, math.pi * (np.sqrt(area / math.pi) + _HALO * step) ** 2)
    wanted = (size >= math.pi / 4 * _SMALLEST**2) & (explained < 0.4 * size) & (halo < 0.7 * size)
    wanted[0] = False
    return _described(np.flatnonzero(wanted), label, above, contrast, step, of, explained)


def _shrunk(image: NDArray[np.float32], step: int) -> NDArray[np.float32]:
    if step == 1:
        return image
    rows, columns = image.shape[0] // 2 * 2, image.shape[1] // 2 * 2
    pairs = image[0:rows:2, :columns] + image[1:rows:2, :columns]
    return np.asarray((pairs[:, 0::2] + pairs[:, 1::2]) * np.float32(0.25))


def _background(level: NDArray[np.float32]) -> NDArray[np.float32]:
    """Lower quartile in large windows, smooth, at the full size of ``level``."""
    from scipy import ndimage

    by = max(1, min(level.shape) // 32)
    small = level[: level.shape[0] // by * by, : level.shape[1] // by * by]
    small = small.reshape(small.shape[0] // by, by, small.shape[1] // by, by).mean(axis=(1, 3))
    low = ndimage.percentile_filter(small, 25, size=13, mode="reflect")
    low = ndimage.gaussian_filter(low, 3.0, mode="nearest")
    rows = (np.arange(level.shape[0]) - (by - 1) / 2) / by
    columns = (np.arange(level.shape[1]) - (by - 1) / 2) / by
    i = np.clip(np.floor(rows).astype(int), 0, low.shape[0] - 2)
    j = np.clip(np.floor(columns).astype(int), 0, low.shape[1] - 2)
    u = np.clip(rows - i, 0, 1).astype(np.float32)[:, None]
    v = np.clip(columns - j, 0, 1).astype(np.float32)[None, :]
    wide = low[:, j] * (1 - v) + low[:, j + 1] * v
    return np.asarray(wide[i] * (1 - u) + wide[i + 1] * u, dtype=np.float32)


def _described(
    numbers: NDArray[np.intp],
    label: NDArray[Any],
    above: NDArray[np.float32],
    contrast: float,
    step: int,
    of: NDArray[np.intp],
    explained: NDArray[Any],
) -> Regions:
    from scipy import ndimage

    places = ndimage.find_objects(label)
    # Relief finer than about eight pixels, in a region and on the plain background.
    fine = np.abs(above - ndimage.gaussian_filter(above, 4.0, mode="nearest", truncate=2.0))
    plain = float(np.median(fine[label == 0])) if (label == 0).any() else 0.0
    rows: list[tuple[float, ...]] = []
    polygons: list[NDArray[np.float32]] = []
    taken: list[int] = []
    for number in numbers:
        place = places[number - 1]
        own = ndimage.binary_fill_holes(np.pad(label[place] == number, 2))
        levels = above[place][own[2:-2, 2:-2]]
        share = min(float(explained[number]) / (levels.size * step * step), 0.6)
        # What particles on it leave over must be nearly as bright as they are: else it is a facet they stand on.
        rest, top = np.quantile(levels, [0.5 * (1 - share), 1 - 0.5 * max(share, 0.1)])
        level = float(np.median(levels))
        smooth = float(np.median(fine[place][own[2:-2, 2:-2]])) < _ROUGH * plain
        if rest < _ALIKE * top or level < 0.55 * contrast:
            continue
        cut = (
            place[0].start == 0 or place[1].start == 0
            or place[0].stop == label.shape[0] or place[1].stop == label.shape[1]
        )  # fmt: skip
        shape = (label.shape[0] * step, label.shape[1] * step)
        outline = _outline(own, place, step)
        disc = _cut_disc(outline, float(own.sum()) * step * step, shape) if cut else None
        if smooth and ((cut and disc is None) or _dark_around(own, place, above, level) < _AROUND):
            continue
        if disc is not None:
            rows.append((*disc, level, 1.0, 1.0, 1.0))
            polygons.append(outline)
            taken.append(int(number))
            continue
        x, y, area, long = _moments(own, place, step)
        if long > 2 and float(ndimage.distance_transform_edt(own).max()) * step < _THIN:
            continue
        compact = long < 1.8 and area > 0.88 * _hull_area(outline)
        if not compact and area < _SMALLEST_CLUMP:
            continue
        rows.append((x, y, area, level, long, float(compact), float(cut)))
        polygons.append(outline)
        taken.append(int(number))
    table = np.array(rows, dtype=np.float64).reshape(-1, 7)
    return Regions(
        x=table[:, 0], y=table[:, 1], area=table[:, 2], contrast=table[:, 3], elongation=table[:, 4],
        compact=table[:, 5] > 0.5, cut=table[:, 6] > 0.5, polygon=polygons, inside=np.isin(of, taken),
    )  # fmt: skip


def _dark_around(
    own: NDArray[np.bool_], place: tuple[slice, slice], above: NDArray[np.float32], level: float
) -> float:
    """Share of a ring around a region (mask padded by two) that is as dark as the background: a facet has others beside it."""
    from scipy import ndimage

    wide = np.pad(own, 3)
    near = ndimage.binary_dilation(wide, iterations=2)
    ring = ndimage.binary_dilation(near, iterations=3) & ~near
    v, u = np.nonzero(ring)
    v, u = v + place[0].start - 5, u + place[1].start - 5
    inside = (v >= 0) & (u >= 0) & (v < above.shape[0]) & (u < above.shape[1])
    if not inside.any():
        return 0.0
    return float((above[v[inside], u[inside]] < 0.35 * level).mean())


class _Disc(NamedTuple):
    x: float
    y: float
    area: float


class _Moments(NamedTuple):
    x: float
    y: float
    area: float
    elongation: float


def _moments(own: NDArray[np.bool_], place: tuple[slice, slice], step: int) -> _Moments:
    """Middle (pixels of the image), area and elongation of a mask padded by two."""
    v, u = np.nonzero(own)
    spread = np.cov(np.stack([u, v]).astype(float)) if len(u) > 2 else np.eye(2)
    small, large = np.linalg.eigvalsh(spread)
    x = (place[1].start + float(u.mean()) - 2 + 0.5) * step - 0.5
    y = (place[0].start + float(v.mean()) - 2 + 0.5) * step - 0.5
    return _Moments(
        x, y, float(len(u)) * step * step, math.sqrt((large + 1 / 12) / (max(small, 0.0) + 1 / 12))
    )


def _outline(own: NDArray[np.bool_], place: tuple[slice, slice], step: int) -> NDArray[np.float32]:
    """The longest contour of a mask (padded by two), in pixels of the image, x and y."""
    from contourpy import contour_generator
    from scipy.ndimage import gaussian_filter

    soft = gaussian_filter(own.astype(np.float32), 0.7)
    lines: list[Any] = list(contour_generator(z=soft).lines(0.5))
    longest = np.asarray(max(lines, key=len))[:-1]
    longest = longest[:: max(1, len(longest) // 240)]
    x = (place[1].start + longest[:, 0] - 2 + 0.5) * step - 0.5
    y = (place[0].start + longest[:, 1] - 2 + 0.5) * step - 0.5
    return np.column_stack([x, y]).astype(np.float32)


def _cut_disc(outline: NDArray[np.float32], area: float, shape: tuple[int, int]) -> _Disc | None:
    """The disc of which a region at the frame is the part seen; None where its edge is no arc of a circle.

    Of a disc of which less than about half is seen neither rays nor moments find the middle: a circle is laid through the
    edge inside the frame.
    """
    if area < 0.88 * _hull_area(outline):
        return None
    arc, seen = arc_of(outline, shape), math.sqrt(area / math.pi)
    if arc is None or not 0.9 * seen < arc.radius < 4 * seen:
        return None
    return _Disc(arc.x, arc.y, math.pi * arc.radius**2)


def _hull_area(outline: NDArray[np.float32]) -> float:
    from scipy.spatial import ConvexHull

    return float(ConvexHull(outline.astype(np.float64)).volume)


def _empty(n: int) -> Regions:
    none = np.empty(0)
    return Regions(
        x=none, y=none, area=none, contrast=none, elongation=none, compact=np.empty(0, bool), cut=np.empty(0, bool),
        polygon=[], inside=np.zeros(n, dtype=bool),
    )  # fmt: skip
