"""Bright particles in a micrograph: found, outlined at half height, doubted."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.micrographs.measure import Outline, blur_of, look, outline
from halfcell.micrographs.seeds import find_seeds
from halfcell.micrographs.smoothing import Smoothed, smooth
from halfcell.results import read_only

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Detected:
    """The particles of one image (n,), lengths in pixels, brightness as a share of full scale.

    ``x``, ``y`` from the centre of the first pixel to the right and down; ``diameter`` of the disc
    of equal area; ``contrast`` above the substrate around it; ``elongation`` long over short
    axis; ``confidence`` 0 … 1, a score of how complete, even and clear the outline is (not a
    probability); ``cut`` 1 where the frame cuts it; ``hidden`` the share of its outline that
    neighbours hide; ``group`` numbers of particles in contact (−1: alone). ``outline`` (m, 2)
    holds all outlines one after another, that of particle i from ``first[i]`` to ``first[i + 1]``.
    ``blur`` is the standard deviation of the edges' blur before smoothing, ``noise`` that of one pixel.
    """

    x: FloatArray
    y: FloatArray
    diameter: FloatArray
    contrast: FloatArray
    elongation: FloatArray
    confidence: FloatArray
    cut: FloatArray
    hidden: FloatArray
    group: FloatArray
    outline: NDArray[np.float32]
    first: NDArray[np.int64]
    rows: int
    columns: int
    noise: float
    line_noise: float
    blur: float
    candidates: int

    def __len__(self) -> int:
        return len(self.x)

    def polygon(self, i: int) -> NDArray[np.float32]:
        """The outline (k, 2) of one particle: x and y in pixels."""
        return self.outline[self.first[i] : self.first[i + 1]]


def detect(
    pixels: NDArray[np.float32],
    *,
    smallest: float = 4.0,
    largest: float | None = None,
    mask: NDArray[np.bool_] | None = None,
) -> Detected:
    """Find and outline the bright particles of an image.

    Parameters
    ----------
    pixels : (rows, columns) array, share of full scale, without a data bar.
    smallest, largest : diameters looked for, pixels (largest: half the shorter side).
    mask : (rows, columns) array, true where nothing is to be looked for.

    Raises
    ------
    MethodError
        For an image smaller than 32 pixels a side, or without any contrast.

    Notes
    -----
    Candidates come from a multi-scale difference of Gaussians. Along rays from each, the
    brightness falls to half way between the particle's own plateau and the substrate's level
    *on that side*: facets do not shift the outline, and the threshold is no choice of anybody. The
    shift that blur gives a curved edge is taken off with the blur measured at the edges
    themselves. A candidate must end in an edge on nearly all sides (a grain edge does not), be
    about as contrasty as the others, and have a smooth outline.
    """
    image = np.asarray(pixels, dtype=np.float32)
    if image.ndim != 2 or min(image.shape) < 32:
        raise MethodError(
            f"An image of {image.shape} pixels is too small for a particle analysis; at least 32 × 32."
        )
    if not np.isfinite(image).all():
        raise MethodError("The image has pixels that are not numbers.")
    if float(np.ptp(image)) <= 0:
        raise MethodError("All pixels of the image are alike; there is nothing to find.")
    largest = min(image.shape) / 2 if largest is None else largest
    ready = smooth(image)
    seeds = find_seeds(ready.pixels, noise=ready.noise_smoothed, smoothing=ready.smoothing, largest=largest)
    measured, sigma = _measured(ready, seeds.x, seeds.y, seeds.radius)
    keep = _credible(measured, ready, smallest, largest, sigma)
    if mask is not None:
        row = np.clip(np.round(measured.y).astype(int), 0, image.shape[0] - 1)
        column = np.clip(np.round(measured.x).astype(int), 0, image.shape[1] - 1)
        keep &= ~mask[row, column]
    return _detected(measured, keep, ready, sigma, len(seeds.x))


def _measured(ready: Smoothed, x: FloatArray, y: FloatArray, radius: FloatArray) -> tuple[Outline, float]:
    """Outlines of the candidates that look like something, and the blur (of the smoothed image)."""
    guess = 1.5 * ready.smoothing
    first = look(ready, x, y, radius, guess)
    sigma = blur_of(ready, first)
    picked: list[FloatArray] = []
    for _, rays in first:
        ended = np.isfinite(rays.edge)
        clear = (rays.contrast > 3.5 * ready.noise_smoothed) & (ended.mean(axis=1) > 0.6)
        at = np.where(ended, np.minimum(rays.edge, 1.6 * rays.radius[:, None]), rays.radius[:, None])
        square = np.maximum((at**2).mean(axis=1), 1e-9)
        off_x = 2 / 3 * (at**3 * np.cos(rays.angle)).mean(axis=1) / square
        off_y = 2 / 3 * (at**3 * np.sin(rays.angle)).mean(axis=1) / square
        sure = ended.mean(axis=1) * np.minimum(rays.contrast / (8 * ready.noise_smoothed), 3.0)
        picked.append(np.column_stack([rays.x + off_x, rays.y + off_y, rays.radius, sure])[clear])
    found = np.concatenate(picked) if picked else np.empty((0, 4))
    found = found[_apart(found)]
    second = look(ready, found[:, 0], found[:, 1], found[:, 2], sigma)
    return outline(ready, second, len(found), sigma), sigma


def _apart(found: FloatArray) -> NDArray[np.intp]:
    """Of candidates whose middles lie inside one another the surest stays."""
    from scipy.spatial import cKDTree

    if not len(found):
        return np.empty(0, dtype=np.intp)
    order = np.argsort(-found[:, 3] - 1e-3 * found[:, 2], kind="stable")
    gone = np.zeros(len(found), dtype=bool)
    tree = cKDTree(found[:, :2])
    for i in order:
        if gone[i]:
            continue
        for j in tree.query_ball_point(found[i, :2], 0.95 * found[i, 2]):
            gone[j] |= bool(j != i)
    return np.flatnonzero(~gone)


def _credible(
    m: Outline, ready: Smoothed, smallest: float, largest: float, sigma: float
) -> NDArray[np.bool_]:
    """Which candidates are particles."""
    if not len(m.x):
        return np.zeros(0, dtype=bool)
    noise = ready.noise_smoothed
    jitter = noise * sigma * math.sqrt(2 * math.pi) / np.maximum(m.contrast, 1e-9) / np.maximum(m.radius, 1.0)
    fits = (2 * m.radius >= smallest) & (2 * m.radius <= largest)
    alone = m.free / np.maximum(1 - m.out, 0.2) > 0.8
    shape = (m.elongation < np.where(alone, 2.2, 1.5)) & (m.rough < np.where(alone, 0.1, 0.08) + 1.5 * jitter)
    ends = (m.complete > 0.85) & (m.free > np.where(m.cut, 0.2, 0.3)) & (m.even_ground > 0.3)
    clear = m.contrast > 5 * noise
    keep = fits & shape & ends & clear
    # Noise on a bright grain edge looks like a row of beads: long, with bands leaving it on two sides.
    doubtful = (m.elongation > 1.35) | ((m.arms >= 2) & (m.elongation > 1.2)) | ~alone
    sure, doubt = keep & ~doubtful, keep & doubtful
    if sure.sum() < max(3, 0.4 * doubt.sum()):
        # Hardly anything to compare with: only what stands out from the doubtful ones.
        return (
            np.asarray(sure & (m.contrast > 1.8 * np.median(m.contrast[doubt])))
            if doubt.any()
            else np.asarray(sure)
        )
    typical = float(np.median(m.contrast[sure]))
    keep &= m.contrast / typical / m.elongation > np.where(alone, 0.4, 0.5)
    rows, columns = ready.pixels.shape
    return np.asarray(
        keep & (m.x > -m.radius) & (m.y > -m.radius) & (m.x < columns + m.radius) & (m.y < rows + m.radius)
    )


def _detected(
    m: Outline, keep: NDArray[np.bool_], ready: Smoothed, sigma: float, candidates: int
) -> Detected:
    index = np.flatnonzero(keep)
    polygons = [m.polygon[i] for i in index]
    first = np.concatenate([[0], np.cumsum([len(p) for p in polygons])]).astype(np.int64)
    together = np.concatenate(polygons) if polygons else np.empty((0, 2), dtype=np.float32)
    clear = np.clip(m.contrast / (12 * ready.noise_smoothed), 0, 1)
    confidence = np.clip(
        m.complete * np.clip(1.25 - 2 * m.rough, 0, 1) * np.clip(m.even_ground + 0.3, 0, 1) * clear, 0, 1
    )
    together.setflags(write=False)
    first.setflags(write=False)
    return Detected(
        x=read_only(m.x[index]), y=read_only(m.y[index]), diameter=read_only(2 * m.radius[index]),
        contrast=read_only(m.contrast[index]), elongation=read_only(m.elongation[index]),
        confidence=read_only(confidence[index]), cut=read_only(m.cut[index]),
        hidden=read_only(np.clip(1 - m.free[index] - m.cut[index], 0, 1)),
        group=read_only(_contacts(m.x[index], m.y[index], m.radius[index], sigma)),
        outline=together, first=first, rows=ready.pixels.shape[0], columns=ready.pixels.shape[1],
        noise=ready.noise, line_noise=ready.line_noise,
        blur=math.sqrt(max(sigma**2 - ready.smoothing**2, 0.0)), candidates=candidates,
    )  # fmt: skip


def _contacts(x: FloatArray, y: FloatArray, radius: FloatArray, sigma: float) -> FloatArray:
    """Numbers of the groups of particles whose outlines meet; −1 for those that stand alone."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components
    from scipy.spatial import cKDTree

    group = np.full(len(x), -1.0)
    if len(x) < 2:
        return group
    pairs = cKDTree(np.column_stack([x, y])).query_pairs(2 * float(radius.max()) + 2, output_type="ndarray")
    apart = np.hypot(x[pairs[:, 0]] - x[pairs[:, 1]], y[pairs[:, 0]] - y[pairs[:, 1]])
    pairs = pairs[apart < radius[pairs[:, 0]] + radius[pairs[:, 1]] + 0.5 * sigma]
    joined = coo_matrix((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(len(x), len(x)))
    _, label = connected_components(joined, directed=False)
    size = np.bincount(label)
    numbers = np.cumsum(size > 1) - 1
    return np.where(size[label] > 1, numbers[label], -1).astype(np.float64)
