"""Bright particles in a micrograph: found, outlined at half height, doubted."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.micrographs.clumps import Regions, find_regions
from halfcell.micrographs.detected import Detected, Draft, finish
from halfcell.micrographs.measure import Outline, blur_of, look, outline
from halfcell.micrographs.refine import refine
from halfcell.micrographs.seeds import find_seeds
from halfcell.micrographs.smoothing import Smoothed, smooth

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from halfcell.results import FloatArray

_POINT = 2.6
"""Radius (pixels) below which a particle shows no shape of its own."""


def detect(
    pixels: NDArray[np.float32],
    *,
    smallest: float = 3.0,
    largest: float | None = None,
) -> Detected:
    """Find and outline the bright particles of an image.

    Parameters
    ----------
    pixels : (rows, columns) array, share of full scale, without a data bar.
    smallest, largest : diameters looked for, pixels (largest: half the shorter side).

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
    about as contrasty as the others, and have a smooth outline. Bright regions that such particles
    do not account for are agglomerates, or rough particles where they are compact.
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
    refine(measured, keep, ready, sigma)
    keep &= _no_bead(measured, keep, ready, sigma) & (2 * measured.radius >= smallest)
    draft = _draft(measured, keep, ready)
    t = draft.table
    regions = find_regions(
        ready.pixels,
        t[:, 0],
        t[:, 1],
        math.pi / 4 * t[:, 2] ** 2,
        noise=ready.noise_smoothed,
        pixel_noise=ready.noise,
    )
    draft = _with_regions(draft, regions)
    return finish(
        draft, rows=image.shape[0], columns=image.shape[1], noise=ready.noise, line_noise=ready.line_noise,
        blur=math.sqrt(max(sigma**2 - ready.smoothing**2, 0.0)), candidates=len(seeds.x),
    )  # fmt: skip


def _measured(ready: Smoothed, x: FloatArray, y: FloatArray, radius: FloatArray) -> tuple[Outline, float]:
    """Outlines of the candidates that look like something, and the blur (of the smoothed image)."""
    guess = 1.5 * ready.smoothing
    first = look(ready, x, y, radius, guess, rough=True)
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


def _no_bead(m: Outline, keep: NDArray[np.bool_], ready: Smoothed, sigma: float) -> NDArray[np.bool_]:
    """Which candidates are no noise on a bright grain edge, told from the smallest particles by their fitted size."""
    noise = ready.noise_smoothed
    jitter = noise * sigma * math.sqrt(2 * math.pi) / np.maximum(m.contrast, 1e-9) / np.maximum(m.radius, 1.0)
    # What a fit calls a point must look like one: nothing long, no bands.
    point = m.fitted & (m.radius < _POINT)
    bands = (m.arms >= 2) & (m.elongation > 1.15)
    bead = point & ((m.elongation > 1.35) | (m.rough > 0.06 + 2 * jitter) | bands)
    sure = np.flatnonzero(keep & ~bead)
    if len(sure):
        # A point must be about as bright as the bulk of the metal.
        order = sure[np.argsort(m.contrast[sure])]
        area = np.cumsum(m.radius[order] ** 2)
        bulk = m.contrast[order[np.searchsorted(area, 0.5 * area[-1])]]
        bead |= point & (m.contrast < 0.5 * bulk)
        # Far smaller than the others: only what is clear beyond doubt.
        lost = m.fitted & (m.radius < 0.4 * np.median(m.radius[sure]))
        long = (m.elongation > 1.2) & ~m.cut
        bead |= lost & ((m.contrast < 12 * noise) | (point & (m.arms >= 2)) | long)
    return ~bead


def _draft(m: Outline, keep: NDArray[np.bool_], ready: Smoothed) -> Draft:
    index = np.flatnonzero(keep)
    clear = np.clip(m.contrast / (12 * ready.noise_smoothed), 0, 1)
    confidence = np.clip(
        m.complete * np.clip(1.25 - 2 * m.rough, 0, 1) * np.clip(m.even_ground + 0.3, 0, 1) * clear, 0, 1
    )
    table = np.column_stack([
        m.x, m.y, 2 * m.radius, m.level, m.elongation, confidence, m.cut, np.clip(1 - m.free - m.cut, 0, 1),
    ])[index]  # fmt: skip
    return Draft(
        table=table, polygon=[m.polygon[i] for i in index], clumps=np.empty((0, 4)), clump_polygon=[]
    )


def _with_regions(draft: Draft, regions: Regions) -> Draft:
    """Particles inside larger regions give way to these; what is faint beside them goes too."""
    if not len(regions.x):
        return draft
    inside = regions.inside
    area, contrast = draft.table[:, 2] ** 2 * math.pi / 4, draft.table[:, 3]
    if regions.area.sum() > area[~inside].sum():
        typical = float(np.average(regions.contrast, weights=regions.area))
        inside = inside | (contrast / draft.table[:, 4] < 0.4 * typical)
    draft = draft.without(inside)
    for i in np.flatnonzero(regions.compact):
        diameter = 2 * math.sqrt(regions.area[i] / math.pi)
        row = np.array(
            [
                regions.x[i],
                regions.y[i],
                diameter,
                regions.contrast[i],
                regions.elongation[i],
                0.5,
                regions.cut[i],
                0.0,
            ]
        )
        draft = draft.plus(row, regions.polygon[i])
    clumps = np.flatnonzero(~regions.compact)
    draft.clumps = np.column_stack([regions.x, regions.y, regions.area, regions.contrast])[clumps]
    draft.clump_polygon = [regions.polygon[i] for i in clumps]
    return draft
