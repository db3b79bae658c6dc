"""Are the particles of a field even, random or clustered, against random patterns of the same particles?"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from halfcell.errors import MethodError
from halfcell.micrographs.clark_evans import clark_evans, mean_nearest
from halfcell.micrographs.hard_discs import contact_of, hard_discs
from halfcell.micrographs.patterns import density_maps, l_functions, quadrats
from halfcell.micrographs.window import Window, window_of
from halfcell.results import Measured, read_only

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Evenness:
    """Statistics of one field beside those of ``patterns`` random ones; lengths in the input's unit.

    ``ratio`` Clark–Evans with Donnelly's terms; ``nearest`` (n,) nearest-neighbour distances and
    ``nearest_random`` their mean in each random pattern; ``r`` (m,), ``l_minus_r`` (m,) of the field
    and ``low``, ``middle``, ``high`` (m,) the pointwise envelope at ``level`` and mean of the random ones;
    ``p_nearest``, ``p_l`` two-sided p values (rank among the patterns), ``statistics`` (3, patterns + 1)
    standardised nearest distance, worst deviation of L and its signed size, the field's first; ``vmr`` index of dispersion (variance over mean) of the
    ``quadrats`` (rows, columns) of counts, ``p_quadrats``; ``density`` (rows, columns) local density relative to
    the mean, nan where masked, ``dense`` and ``bare`` the limits beyond which a place is significantly so, and the shares
    of the places seen that are; ``area`` that is seen; ``verdict`` even, random or clustered, with ``p`` for the whole of it.
    """

    ratio: Measured
    ratio_random: float
    nearest: FloatArray
    nearest_random: FloatArray
    r: FloatArray
    l_minus_r: FloatArray
    low: FloatArray
    middle: FloatArray
    high: FloatArray
    p_nearest: float
    p_l: float
    statistics: FloatArray
    quadrats: FloatArray
    vmr: float
    p_quadrats: float
    density: FloatArray
    dense: float
    bare: float
    share_dense: float
    share_bare: float
    contact: float
    n: int
    width: float
    height: float
    area: float
    verdict: str
    p: float
    level: float


def evenness(
    x: ArrayLike,
    y: ArrayLike,
    diameter: ArrayLike,
    *,
    width: float,
    height: float,
    seed: int,
    level: float = 0.95,
    patterns: int = 199,
    seen: NDArray[np.bool_] | None = None,
) -> Evenness:
    """Judge the arrangement of particles with size in a rectangular frame that begins at (0, 0).

    Parameters
    ----------
    x, y, diameter : (n,) arrays in one unit; particles whose centre lies outside, or in a masked
        cell, are left out.
    seed : of the random patterns.
    level : the verdict is "random" unless this much confidence speaks against it.
    seen : (rows, columns) of equal cells of the frame, False where masked; None: all is seen.

    Raises
    ------
    MethodError
        With fewer than 8 particles, or where masks cover the whole frame.

    Notes
    -----
    The null model puts the very same discs down at random without overlap, so that the room
    particles take up is not mistaken for evenness. Two questions are asked of the field and of
    every random pattern: the mean distance to the nearest neighbour (Clark & Evans 1954), and the worst
    deviation of Ripley's L, in standard deviations, over distances to a quarter of the shorter
    side. The verdict's p is twice the smaller of both (Bonferroni). Envelopes as in Besag and Diggle
    (1977) and Ripley (1977) (from memory). Where part of the frame is masked, the random patterns are put
    down in the part that is seen, and all that is compared is computed there.
    """
    u, v, d = (np.asarray(a, dtype=np.float64) for a in (x, y, diameter))
    window = window_of(width, height, seen)
    inside = window.contains(u, v)
    u, v, d = u[inside], v[inside], d[inside]
    if len(u) < 8:
        raise MethodError(f"{len(u)} particles are too few to speak of evenness; at least 8 in a field.")
    own = clark_evans(u, v, width=width, height=height, window=window, seed=seed)
    contact = contact_of(u, v, d)
    rng = np.random.default_rng(seed)
    random = hard_discs(rng, d, window=window, contact=contact, patterns=patterns)
    everything = np.concatenate([np.column_stack([u, v])[None], random])
    nearest = mean_nearest(everything)
    r, curves = l_functions(everything, window=window)
    deviation = curves - curves[1:].mean(axis=0)
    scaled = deviation / np.maximum(curves[1:].std(axis=0, ddof=1), 1e-12)
    worst = np.abs(scaled).max(axis=1)
    sign = np.sign(scaled[np.arange(len(scaled)), np.abs(scaled).argmax(axis=1)])
    z = (nearest - nearest[1:].mean()) / max(float(nearest[1:].std(ddof=1)), 1e-12)
    statistics = np.stack([z, worst, worst * sign])
    p_nearest, p_l, p, verdict = judge(statistics[None], level)
    tail = (1 - level) / 2
    counts, dispersion = quadrats(everything, window=window)
    places = _places(everything, window, tail)
    return Evenness(
        ratio=own.ratio, ratio_random=float(nearest[1:].mean()) / own.expected, nearest=own.distance,
        nearest_random=read_only(nearest[1:]), r=read_only(r), l_minus_r=read_only(curves[0] - r),
        low=read_only(np.quantile(curves[1:], tail, axis=0) - r), middle=read_only(curves[1:].mean(axis=0) - r),
        high=read_only(np.quantile(curves[1:], 1 - tail, axis=0) - r), p_nearest=p_nearest, p_l=p_l,
        statistics=read_only(statistics), quadrats=read_only(counts[0]), vmr=float(dispersion[0]),
        p_quadrats=_two_sided(dispersion), density=read_only(places.density), dense=places.dense, bare=places.bare,
        share_dense=places.share_dense, share_bare=places.share_bare, contact=contact,
        n=len(u), width=float(width), height=float(height), area=window.area, verdict=verdict, p=p, level=level,
    )  # fmt: skip


def judge(statistics: ArrayLike | Sequence[FloatArray], level: float) -> tuple[float, float, float, str]:
    """p of the nearest distances, p of L, p of the verdict and the verdict, from one or several fields.

    ``statistics`` (fields, 3, patterns + 1) as in ``Evenness``; fields are pooled pattern by pattern:
    their standardised distances are added, and so are the squares of their worst deviations.
    """
    s = np.asarray(statistics, dtype=np.float64)
    z = s[:, 0].sum(axis=0) / math.sqrt(len(s))
    worst = (s[:, 1] ** 2).sum(axis=0)
    p_nearest, p_l = _two_sided(z), float((worst >= worst[0]).mean())
    p = min(1.0, 2 * min(p_nearest, p_l))
    if p > 1 - level + 1e-12:
        return p_nearest, p_l, p, "random"
    direction = z[0] if p_nearest <= p_l else -float(s[:, 2, 0].sum())
    return p_nearest, p_l, p, "even" if direction > 0 else "clustered"


def _two_sided(values: FloatArray) -> float:
    """Two-sided rank p of the first value among all."""
    n = len(values)
    if not np.isfinite(values).all():
        return math.nan
    above, below = int((values >= values[0]).sum()), int((values <= values[0]).sum())
    return float(min(1.0, 2 * min(above, below) / n))


class _Places(NamedTuple):
    density: FloatArray
    dense: float
    bare: float
    share_dense: float
    share_bare: float


def _places(everything: FloatArray, window: Window, tail: float) -> _Places:
    """Local density of the field, and what random patterns reach anywhere."""
    maps, seen = density_maps(everything, window=window)
    if not seen.any():
        return _Places(maps[0], math.nan, math.nan, math.nan, math.nan)
    at = maps[:, seen]
    dense = float(np.quantile(at[1:].max(axis=1), 1 - tail))
    bare = float(np.quantile(at[1:].min(axis=1), tail))
    return _Places(maps[0], dense, bare, float((at[0] > dense).mean()), float((at[0] < bare).mean()))
