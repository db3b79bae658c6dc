"""Profiles along rays from the middle of each candidate, and where they fall to half height."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from halfcell.micrographs.blurred_disc import faded, true_radius
from halfcell.micrographs.dome import dome_of, half_height

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from halfcell.results import FloatArray

_SAMPLES = 32
"""Samples a ray in the coarse pass."""
_FAR = 20
"""The first of them that lies well outside (1.4 radii and 2.5 pixels)."""


@dataclass(slots=True, kw_only=True, eq=False)
class Rays:
    """Candidates of one size class (n) with k rays each; lengths in pixels, brightness of full scale.

    ``edge`` (n, k) is where a ray falls to half height, nan where it does not within reach;
    ``valley`` (n, k) true where it ends at a dip between two bright things instead;
    ``outside`` (n, k) true where the edge lies beyond the frame; ``ground`` (n, k) is the
    substrate's brightness on that side, ``plateau`` (n,) that of the particle just within its edge, ``contrast`` (n,)
    their difference; ``dome`` how much of it the middle lacks (below 0: has more); ``radius`` (n,) the median edge; ``arms`` (n,) how many narrow bright bands leave it.
    """

    x: FloatArray
    y: FloatArray
    radius: FloatArray
    angle: FloatArray
    edge: FloatArray
    valley: NDArray[np.bool_]
    outside: NDArray[np.bool_]
    ground: FloatArray
    plateau: FloatArray
    contrast: FloatArray
    dome: float
    arms: FloatArray


def ray_count(radius: float) -> int:
    """Rays for a size: about one for every 2.5 pixels of the outline, at least 32."""
    return 32 if radius < 16 else 64 if radius < 40 else 128


def sample(image: NDArray[np.float32], x: FloatArray, y: FloatArray) -> NDArray[np.float32]:
    """Brightness between pixels (bilinear); beyond the frame that of the nearest pixel."""
    from scipy.ndimage import map_coordinates

    shape = x.shape
    out = map_coordinates(
        image, [y.ravel(), x.ravel()], order=1, mode="nearest", prefilter=False, output=np.float32
    )
    return np.asarray(out).reshape(shape)


def coarse(
    image: NDArray[np.float32],
    x: FloatArray,
    y: FloatArray,
    radius: FloatArray,
    *,
    noise: float,
    sigma: float,
    rays: int,
    passes: int = 2,
    rough: bool = False,
) -> Rays:
    """Edges to about a pixel, for candidates of similar size; ``rays`` from each.

    Where ``rough`` (the blur is not known yet) no bands are looked for, and particles are taken as evenly bright.
    """
    angle = np.arange(rays, dtype=np.float64) * (2 * math.pi / rays)
    cosine, sine = np.cos(angle), np.sin(angle)
    reach = 2.3 * radius + 4.0
    t = reach[:, None] * np.linspace(0.0, 1.0, _SAMPLES)
    u = x[:, None, None] + cosine[None, :, None] * t[:, None, :]
    v = y[:, None, None] + sine[None, :, None] * t[:, None, :]
    rows, columns = image.shape
    p = sample(image, u, v)
    beyond = (u < -0.5) | (u > columns - 0.5) | (v < -0.5) | (v > rows - 0.5)
    now = radius.copy()
    ground = _lower(p[:, :, _FAR:], 0.3)
    mean = p.mean(axis=1, dtype=np.float64)
    plateau = _inner(mean, t, now)
    dark = far = np.zeros(0, dtype=bool)
    dome = 0.0
    for turn in range(passes):
        half = ground + (plateau - ground) * half_height(dome, sigma, now)
        edge = _crossing(p, t, half)
        typical = _median(edge, now)
        now = np.clip(typical, 1.0, reach)
        dome = dome_of(mean, t, now, edge, ground, sigma) if turn and not rough else 0.0
        plateau = _inner(mean, t, now, ground, sigma, dome)
        far = (t > now[:, None] + 2.2 * sigma) & (t < 1.5 * now[:, None] + 2.2 * sigma + 6)
        dark = far[:, None, :] & (p < half[:, None, None]) & ~beyond
        ground = _mean(p, dark, ground)
    sides = _by_side(p, dark, ground)
    edge = _crossing(p, t, sides + (plateau[:, None] - sides) * half_height(dome, sigma, now)[:, None])
    edge, valley = _valleys(p, t, edge, plateau - max(dome, 0.0) * (plateau - ground), ground, noise)
    at = np.where(np.isfinite(edge), edge, now[:, None])
    off_x, off_y = x[:, None] + cosine * at, y[:, None] + sine * at
    outside = (off_x < 0) | (off_x > columns - 1) | (off_y < 0) | (off_y > rows - 1)
    return Rays(
        x=x, y=y, radius=now, angle=angle, edge=edge, valley=valley, outside=outside, ground=sides,
        plateau=plateau, contrast=plateau - ground, dome=dome, arms=_arms(p, far, plateau - ground) if not rough else np.zeros(len(x)),
    )  # fmt: skip


def fine(image: NDArray[np.float32], rays: Rays, start: FloatArray, *, sigma: float) -> FloatArray:
    """Edges (n, k) to a small part of a pixel, near those in ``start`` (n, k).

    Within a window the samples above half height are counted, which noise disturbs evenly on
    both sides (the first crossing alone would be biased inwards).
    """
    width = np.maximum(2.2 * sigma, 0.04 * rays.radius)[:, None]
    inner = np.maximum(start - width, 0.0)
    steps = 13
    share = (np.arange(steps) + 0.5) / steps
    span = start + width - inner
    t = inner[:, :, None] + span[:, :, None] * share
    u = rays.x[:, None, None] + np.cos(rays.angle)[None, :, None] * t
    v = rays.y[:, None, None] + np.sin(rays.angle)[None, :, None] * t
    p = sample(image, u, v)
    part = half_height(rays.dome, sigma, rays.radius)[:, None]
    half = rays.ground + (rays.plateau[:, None] - rays.ground) * part
    slope = rays.contrast[:, None] / (sigma * math.sqrt(2 * math.pi))
    soft = np.maximum(slope * span / steps, 1e-6)
    above = np.clip((p - half[:, :, None]) / soft[:, :, None] + 0.5, 0.0, 1.0)
    return np.asarray(inner + span * above.mean(axis=2))


def edge_blur(image: NDArray[np.float32], rays: Rays, edge: FloatArray, good: NDArray[np.bool_]) -> float:
    """Standard deviation of the blur from the steepness at the edges of some candidates, pixels.

    Between one pixel inside and one outside, an edge of contrast C blurred by σ falls by
    C·erf(1/(σ√2)). nan when there is nothing to look at.
    """
    from scipy.special import erfinv

    if not good.any():
        return math.nan
    here = edge[good]
    cosine, sine = np.cos(rays.angle), np.sin(rays.angle)
    fall = np.zeros(int(good.sum()))
    for sign in (-1.0, 1.0):
        t = here + sign
        p = sample(image, rays.x[good][:, None] + cosine * t, rays.y[good][:, None] + sine * t)
        fall -= sign * np.nanmedian(np.where(np.isfinite(here), p, np.nan), axis=1)
    ratio = float(np.median(fall / rays.contrast[good]))
    if not 0.05 < ratio < 0.97:
        return math.nan
    return float(1 / (math.sqrt(2) * erfinv(ratio)))


def corrected(radius: FloatArray, sigma: float) -> FloatArray:
    """Radii at half height turned into those of the discs behind the blur."""
    return np.asarray(true_radius(radius, sigma))


def _inner(
    mean: FloatArray,
    t: FloatArray,
    radius: FloatArray,
    ground: FloatArray | None = None,
    sigma: float = 1.0,
    dome: float = 0.0,
) -> FloatArray:
    """Brightness of the particle at its edge, but from out of its blur; corrected for fading where it is small."""
    inside = np.maximum(0.5 * radius, radius - 2.0 * sigma)
    from_ = np.where(radius > 4 * sigma, 0.6 * inside, 0.0)
    band = (t >= from_[:, None]) & (t <= inside[:, None] + 1e-9)
    weight = np.where(band, t + 1e-3, 0.0)
    weight[:, 0] = np.where(band.any(axis=1), weight[:, 0], 1.0)
    weight /= weight.sum(axis=1, keepdims=True)
    level = (mean * weight).sum(axis=1)
    if ground is None:
        return np.asarray(level)
    square = (weight * t**2).sum(axis=1) / np.maximum(radius, 1e-9) ** 2
    large = radius > 4 * sigma
    shown = np.where(
        large, 1 + dome * (square - 1), np.maximum(faded(true_radius(radius, sigma), sigma), 0.3)
    )
    return np.asarray(ground + (level - ground) / shown)


def _arms(p: NDArray[np.float32], ring: NDArray[np.bool_], contrast: FloatArray) -> FloatArray:
    """Bands narrower than a quarter turn, brighter than the rest of the ring by a quarter of the contrast."""
    n, k, _ = p.shape
    weight = (ring / np.maximum(ring.sum(axis=1, keepdims=True), 1)).astype(np.float32)
    mean = np.matmul(p, weight[:, :, None])[:, :, 0].astype(np.float64)
    middle = np.median(mean, axis=1)[:, None]
    smoothed = (np.roll(mean, 1, axis=1) + mean + np.roll(mean, -1, axis=1)) / 3
    bright = (smoothed > middle + 0.25 * contrast[:, None]) & ring.any(axis=1, keepdims=True)
    out = np.zeros(n)
    for i in np.flatnonzero(bright.any(axis=1) & ~bright.all(axis=1)):
        row = np.roll(bright[i], -int(np.argmin(bright[i])))
        edges = np.diff(np.concatenate([[0], row.astype(np.int8), [0]]))
        widths = np.flatnonzero(edges < 0) - np.flatnonzero(edges > 0)
        out[i] = int(((widths >= 2) & (widths <= k // 4)).sum())
    return out


def _crossing(p: NDArray[np.float32], t: FloatArray, half: FloatArray) -> FloatArray:
    """Where each ray first falls below half height (n, k), nan where it does not within reach."""
    n, k, _ = p.shape
    level = np.broadcast_to((half[:, None] if half.ndim == 1 else half).astype(np.float32), (n, k))
    below = p < level[:, :, None]
    below[:, :, 0] = False
    first = below.argmax(axis=2)
    before = np.maximum(first - 1, 0)
    high = np.take_along_axis(p, before[:, :, None], axis=2)[:, :, 0]
    low = np.take_along_axis(p, first[:, :, None], axis=2)[:, :, 0]
    part = np.clip((high - level) / np.maximum(high - low, 1e-9), 0.0, 1.0)
    return np.where(first > 0, (before + part) * t[:, 1][:, None], np.nan)


class _Ends(NamedTuple):
    edge: FloatArray
    valley: NDArray[np.bool_]


def _valleys(
    p: NDArray[np.float32],
    t: FloatArray,
    edge: FloatArray,
    plateau: FloatArray,
    ground: FloatArray,
    noise: float,
) -> _Ends:
    """Rays that rise again before they fall to half height end at the bottom of the dip."""
    m = p.shape[2]
    rise = np.maximum(5 * noise, 0.15 * (plateau - ground)).astype(np.float32)
    lowest = np.minimum.accumulate(p, axis=2)
    # The plateau itself may be uneven: a dip counts only once the ray is clearly below its middle.
    up = (p - lowest > rise[:, None, None]) & (
        lowest < (plateau - 0.5 * rise).astype(np.float32)[:, None, None]
    )
    up_first = up.argmax(axis=2)
    step = t[:, 1][:, None]
    reached = np.where(np.isfinite(edge), edge / step, m)
    valley = (up_first > 0) & (up_first < reached)
    i, j = np.nonzero(valley)
    if len(i):
        within = np.arange(m)[None, :] <= up_first[i, j][:, None]
        bottom = np.where(within, p[i, j], np.inf).argmin(axis=1)
        edge = edge.copy()
        edge[i, j] = bottom * step[i, 0]
    return _Ends(edge, valley)


def _median(values: FloatArray, spare: FloatArray) -> FloatArray:
    """Median of each row without its nan; from ``spare`` where a row has nothing else."""
    known = np.isfinite(values)
    count = known.sum(axis=1)
    ordered = np.sort(np.where(known, values, np.inf), axis=1)
    rows = np.arange(len(values))
    low, high = (
        ordered[rows, np.maximum(count - 1, 0) // 2],
        ordered[rows, np.minimum(count // 2, values.shape[1] - 1)],
    )
    return np.where(count > 0, (low + np.where(np.isfinite(high), high, low)) / 2, spare)


def _lower(p: NDArray[np.float32], q: float) -> FloatArray:
    """Quantile q of all samples of each candidate."""
    flat = p.reshape(len(p), -1)
    k = int(q * (flat.shape[1] - 1))
    return np.asarray(np.partition(flat, k, axis=1)[:, k], dtype=np.float64)


def _mean(p: NDArray[np.float32], chosen: NDArray[np.bool_], spare: FloatArray) -> FloatArray:
    count = chosen.sum(axis=(1, 2))
    total = np.where(chosen, p, 0).sum(axis=(1, 2), dtype=np.float64)
    return np.where(count > 8, total / np.maximum(count, 1), spare)


def _by_side(p: NDArray[np.float32], chosen: NDArray[np.bool_], spare: FloatArray) -> FloatArray:
    """Mean of the chosen samples in the quarter turn around each ray."""
    k = p.shape[1]
    total = np.where(chosen, p, 0).sum(axis=2, dtype=np.float64)
    count = chosen.sum(axis=2).astype(np.float64)
    window = np.zeros(k)
    window[np.arange(-(k // 8), k // 8 + 1)] = 1.0
    kernel = np.fft.rfft(window)
    total = np.fft.irfft(np.fft.rfft(total, axis=1) * kernel, k, axis=1)
    count = np.fft.irfft(np.fft.rfft(count, axis=1) * kernel, k, axis=1)
    weight = 12.0
    return np.asarray((total + weight * spare[:, None]) / (np.maximum(count, 0) + weight))
