"""Nearest-neighbour evenness: the ratio of Clark and Evans with edge terms."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Measured, read_only

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.micrographs.window import Window
    from halfcell.results import FloatArray


SIMULATED = 200
"""Random patterns from which the edge terms of a masked window are taken."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ClarkEvans:
    """``ratio`` of the mean nearest-neighbour distance to that of points at random (1: random, above:
    even, to 2.15; below: clustered), ``naive`` without edge terms, ``z`` its deviation and ``p`` two-sided
    (points without size), ``distance`` (n,) to the nearest neighbour, ``expected`` its mean at random."""

    ratio: Measured
    naive: float
    z: float
    p: float
    distance: FloatArray
    expected: float


def clark_evans(
    x: ArrayLike, y: ArrayLike, *, width: float, height: float, window: Window | None = None, seed: int = 0
) -> ClarkEvans:
    """Clark–Evans ratio of points in a rectangle that begins at (0, 0).

    Expected distance ½(A/N)^½ + (0.0514 + 0.0412/N^½)·P/N and its standard deviation
    (0.0703·A/N² + 0.037·P·(A/N⁵)^½)^½ with area A and perimeter P. In a ``window`` part of which is masked
    the points are those in it, and both come from 200 patterns of N points at random in it (``seed``).

    Raises MethodError with fewer than 8 points.

    References
    ----------
    Clark & Evans (1954) Ecology 35, 445; Donnelly (1978) (standard deviation from memory,
    recomputed by simulation).
    """
    from scipy.spatial import cKDTree

    points = np.column_stack([np.asarray(x, dtype=float), np.asarray(y, dtype=float)])
    n = len(points)
    if n < 8:
        raise MethodError(f"{n} particles are too few to speak of evenness; at least 8 in a field.")
    distance = np.asarray(cKDTree(points).query(points, k=2)[0])[:, 1]
    area = width * height if window is None else window.area
    if window is None or window.seen is None:
        perimeter = 2 * (width + height)
        expected = 0.5 * math.sqrt(area / n) + (0.0514 + 0.0412 / math.sqrt(n)) * perimeter / n
        deviation = math.sqrt(0.0703 * area / n**2 + 0.037 * perimeter * math.sqrt(area / n**5))
    else:
        rng = np.random.default_rng(seed)
        means = mean_nearest([window.random(rng, n) for _ in range(SIMULATED)])
        expected, deviation = float(means.mean()), float(means.std(ddof=1))
    mean = float(distance.mean())
    z = (mean - expected) / deviation
    return ClarkEvans(
        ratio=Measured(value=mean / expected, u=deviation / expected),
        naive=mean / (0.5 * math.sqrt(area / n)), z=z, p=math.erfc(abs(z) / math.sqrt(2)),
        distance=read_only(distance), expected=expected,
    )  # fmt: skip


def mean_nearest(patterns: Iterable[ArrayLike]) -> FloatArray:
    """Mean distance to the nearest neighbour in each pattern (n, 2)."""
    from scipy.spatial import cKDTree

    return np.array([
        float(np.asarray(cKDTree(p).query(p, k=2)[0])[:, 1].mean()) for p in (np.asarray(p) for p in patterns)
    ])  # fmt: skip
