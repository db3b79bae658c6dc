"""From rays to one measured outline a candidate: edges, neighbours, shape, and reasons to doubt it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.micrographs.circles import circle_through, completed
from halfcell.micrographs.rays import Rays, coarse, corrected, edge_blur, fine, ray_count

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from halfcell.micrographs.smoothing import Smoothed
    from halfcell.results import FloatArray

_CLASSES = (16.0, 40.0)


@dataclass(slots=True, kw_only=True, eq=False)
class Outline:
    """Measured candidates (n,), lengths in pixels.

    ``radius`` of the disc of equal area, ``complete`` the share of rays in the frame that end in
    an edge, ``free`` that of rays that end in an edge of its own (no neighbour, no frame),
    ``elongation`` long over short axis, ``rough`` rms deviation of the edge from an ellipse over
    the radius, ``arms`` the bright bands that leave it, ``out`` the share of rays that end beyond the frame, ``even_ground`` the least contrast on any side over the mean one, ``cut`` true
    where the frame cuts it, ``ground`` the substrate's level along each ray, ``level`` the contrast to report (that of
    the fit where ``fitted``; ``contrast`` is always that of the rays), ``polygon`` one (k, 2) array of x and y each.
    """

    x: FloatArray
    y: FloatArray
    radius: FloatArray
    contrast: FloatArray
    complete: FloatArray
    free: FloatArray
    elongation: FloatArray
    rough: FloatArray
    even_ground: FloatArray
    cut: NDArray[np.bool_]
    out: FloatArray
    arms: FloatArray
    ground: list[FloatArray]
    level: FloatArray
    fitted: NDArray[np.bool_]
    polygon: list[NDArray[np.float32]]


def classes(radius: FloatArray) -> list[NDArray[np.intp]]:
    """Indices of the candidates of each size class, so that each gets as many rays as it needs."""
    which = np.digitize(radius, _CLASSES)
    return [np.flatnonzero(which == c) for c in range(len(_CLASSES) + 1)]


def look(
    image: Smoothed, x: FloatArray, y: FloatArray, radius: FloatArray, sigma: float, *, rough: bool = False
) -> list[tuple[NDArray[np.intp], Rays]]:
    """Coarse rays of all candidates, by size class; half as many rays where ``rough`` will do."""
    out = []
    for index in classes(radius):
        if len(index):
            rays = ray_count(float(radius[index].max())) // (2 if rough else 1)
            out.append(
                (
                    index,
                    coarse(
                        image.pixels,
                        x[index],
                        y[index],
                        radius[index],
                        noise=image.noise_smoothed,
                        sigma=sigma,
                        rays=rays,
                        rough=rough,
                    ),
                )
            )
    return out


def blur_of(image: Smoothed, looked: list[tuple[NDArray[np.intp], Rays]]) -> float:
    """Blur of the smoothed image from the clearest round candidates; 1.5 pixels where there are none."""
    best = math.nan
    for _, rays in looked:
        plain = np.isfinite(rays.edge) & ~rays.valley & ~rays.outside
        spread = np.std(np.where(plain, rays.edge, rays.radius[:, None]), axis=1) / rays.radius
        good = (
            (plain.mean(axis=1) > 0.95)
            & (spread < 0.15)
            & (rays.radius > 4)
            & (rays.contrast > 8 * image.noise_smoothed)
        )
        if good.sum() >= 3:
            strongest = good & (rays.contrast >= 0.7 * np.median(rays.contrast[good]))
            best = edge_blur(image.pixels, rays, rays.edge, strongest)
            if math.isfinite(best):
                break
    return float(np.clip(best, image.smoothing, 12.0)) if math.isfinite(best) else 1.5 * image.smoothing


def caps(
    x: FloatArray, y: FloatArray, radius: FloatArray, sigma: float
) -> list[list[tuple[float, float, float]]]:
    """For each candidate the lines that divide it from close neighbours: (direction, distance, reach)."""
    from scipy.spatial import cKDTree

    out: list[list[tuple[float, float, float]]] = [[] for _ in range(len(x))]
    if len(x) < 2:
        return out
    order = np.argsort(radius)
    points = np.column_stack([x, y])[order]
    tree = cKDTree(points)
    for here, i in enumerate(order):
        # Each pair once: with those of the same size or smaller.
        for there in tree.query_ball_point(points[here], 2 * radius[i] + 4 * sigma):
            if there >= here:
                continue
            j = order[there]
            apart = math.hypot(x[j] - x[i], y[j] - y[i])
            if apart < 1e-6 or apart > radius[i] + radius[j] + 4 * sigma:
                continue
            toward = math.atan2(y[j] - y[i], x[j] - x[i])
            line = (apart**2 + radius[i] ** 2 - radius[j] ** 2) / (2 * apart)
            line = min(max(line, 0.2 * radius[i]), apart - 0.2 * radius[j])
            out[i].append((toward, line, apart))
            out[j].append((toward + math.pi, apart - line, apart))
    return out


def outline(
    image: Smoothed, looked: list[tuple[NDArray[np.intp], Rays]], count: int, sigma: float
) -> Outline:
    """Fine edges, divided between neighbours, and the shape of each candidate."""
    x, y, radius = (np.empty(count) for _ in range(3))
    for index, rays in looked:
        x[index], y[index], radius[index] = rays.x, rays.y, rays.radius
    dividing = caps(x, y, radius, sigma)
    out = Outline(
        x=x, y=y, radius=radius, contrast=np.empty(count), complete=np.empty(count), free=np.empty(count),
        elongation=np.ones(count), rough=np.zeros(count), even_ground=np.empty(count),
        cut=np.zeros(count, dtype=bool), out=np.zeros(count), arms=np.zeros(count), ground=[np.empty(0)] * count, level=np.empty(count), fitted=np.zeros(count, dtype=bool), polygon=[np.empty((0, 2), dtype=np.float32)] * count,
    )  # fmt: skip
    for index, rays in looked:
        _outline_class(image, index, rays, dividing, sigma, out)
    return out


def _outline_class(
    image: Smoothed,
    index: NDArray[np.intp],
    rays: Rays,
    dividing: list[list[tuple[float, float, float]]],
    sigma: float,
    out: Outline,
) -> None:
    limit = _limits(rays, [dividing[i] for i in index])
    found = np.isfinite(rays.edge)
    capped = (
        (found & (rays.edge > limit - 0.3 * sigma))
        | (~found & np.isfinite(limit))
        | (rays.valley & (rays.edge > 0.5 * rays.radius[:, None]))
    )
    own = found & ~rays.valley & ~capped & (rays.edge < 2.2 * rays.radius[:, None])
    start = np.where(own, rays.edge, rays.radius[:, None])
    edge = corrected(fine(image.pixels, rays, start, sigma=sigma), sigma)
    outside = rays.outside & ~capped
    free = own & ~outside
    inside = np.maximum((~outside).sum(axis=1), 1)
    out.complete[index] = (free | (capped & ~outside)).sum(axis=1) / inside
    out.free[index] = free.sum(axis=1) / rays.edge.shape[1]
    out.cut[index] = outside.any(axis=1)
    out.out[index] = outside.mean(axis=1)
    out.contrast[index] = out.level[index] = rays.contrast
    out.arms[index] = rays.arms
    for row, i in enumerate(index.tolist()):
        out.ground[i] = rays.ground[row]
    seen = np.where(free, rays.plateau[:, None] - rays.ground, np.inf).min(axis=1)
    out.even_ground[index] = np.where(np.isfinite(seen), seen, 0) / np.maximum(rays.contrast, 1e-9)
    _whole(index, rays, edge, np.asarray(free.all(axis=1)), limit, out)
    for row in np.flatnonzero(~free.all(axis=1)).tolist():
        _partial(int(index[row]), rays, row, edge[row], free[row], limit[row], out)


def _whole(
    index: NDArray[np.intp],
    rays: Rays,
    edge: FloatArray,
    whole: NDArray[np.bool_],
    limit: FloatArray,
    out: Outline,
) -> None:
    """Particles whose edge is seen all around: area, middle and shape from the edge's Fourier series."""
    chosen = np.flatnonzero(whole)
    if not len(chosen):
        return
    r, i = edge[chosen], index[chosen]
    square = np.mean(r * r, axis=1)
    cosine, sine = np.cos(rays.angle), np.sin(rays.angle)
    out.radius[i] = np.sqrt(square)
    out.x[i] = rays.x[chosen] + 2 / 3 * (r**3 @ cosine) / len(cosine) / square
    out.y[i] = rays.y[chosen] + 2 / 3 * (r**3 @ sine) / len(sine) / square
    series = np.fft.rfft(r, axis=1) / len(cosine)
    size = np.maximum(series[:, 0].real, 1e-6)
    second = np.minimum(2 * np.abs(series[:, 2]) / size, 0.9)
    out.elongation[i] = (1 + second) / (1 - second)
    out.rough[i] = np.sqrt(2 * (np.abs(series[:, 3:]) ** 2).sum(axis=1)) / size
    shown = np.minimum(r, limit[chosen])
    corners = np.stack(
        [rays.x[chosen][:, None] + cosine * shown, rays.y[chosen][:, None] + sine * shown], axis=2
    )
    for j, polygon in zip(i, corners.astype(np.float32), strict=True):
        out.polygon[j] = polygon


def _partial(
    i: int, rays: Rays, row: int, r: FloatArray, ok: NDArray[np.bool_], limit: FloatArray, out: Outline
) -> None:
    """A particle partly hidden by neighbours or the frame: a circle through the edge that is seen."""
    cosine, sine = np.cos(rays.angle), np.sin(rays.angle)
    x, y, mean = float(rays.x[row]), float(rays.y[row]), float(rays.radius[row])
    if ok.sum() >= max(8, 0.3 * len(ok)):
        fitted = circle_through(cosine[ok] * r[ok], sine[ok] * r[ok])
        if fitted is not None and math.hypot(fitted.x, fitted.y) < 0.6 * mean:
            mean = fitted.radius
            r = completed(r, ok, rays.angle, fitted)
        else:
            mean = float(np.median(r[ok]))
            r = np.where(ok, r, mean)
    else:
        r = np.where(ok, r, mean)
    shown = np.minimum(r, limit)
    out.polygon[i] = np.column_stack([x + cosine * shown, y + sine * shown]).astype(np.float32)
    out.elongation[i], out.rough[i] = _shape(r, ok, rays.angle)
    square = max(float(np.mean(r * r)), 1e-9)
    out.x[i] = x + 2 / 3 * float(np.mean(r**3 * cosine)) / square
    out.y[i] = y + 2 / 3 * float(np.mean(r**3 * sine)) / square
    out.radius[i] = mean


def _limits(rays: Rays, dividing: list[list[tuple[float, float, float]]]) -> FloatArray:
    """How far each ray may go before it crosses the line to a neighbour (n, k)."""
    limit = np.full(rays.edge.shape, np.inf)
    for row, lines in enumerate(dividing):
        for toward, distance, apart in lines:
            cosine = np.cos(rays.angle - toward)
            reach = np.where(cosine > 0.05, distance / np.maximum(cosine, 0.05), np.inf)
            # Beyond the neighbour's own width the line divides nothing.
            limit[row] = np.minimum(limit[row], np.where(reach < 1.5 * apart, reach, np.inf))
    return limit


def _shape(r: FloatArray, ok: NDArray[np.bool_], angle: FloatArray) -> tuple[float, float]:
    """Elongation and roughness from the edge's Fourier series up to the ellipse's term."""
    if ok.sum() < 8:
        return 1.0, 1.0
    design = np.column_stack(
        [np.ones_like(angle), np.cos(angle), np.sin(angle), np.cos(2 * angle), np.sin(2 * angle)]
    )
    solved, *_ = np.linalg.lstsq(design[ok], r[ok], rcond=None)
    rest = r[ok] - design[ok] @ solved
    size = max(float(solved[0]), 1e-6)
    second = min(float(math.hypot(solved[3], solved[4])) / size, 0.9)
    return (1 + second) / (1 - second), float(np.sqrt(np.mean(rest**2))) / size


__all__ = ["Outline", "blur_of", "look", "outline", "ray_count"]
