"""Where the particles of a synthetic micrograph stand."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from halfcell.results import FloatArray

    Box = tuple[float, float, float, float]

_GAP = 1.05
"""Centres of particles that do not touch stand this many sums of radii apart, at least."""


class _Discs:
    """Hard discs placed one after another, found again by a grid of cells."""

    def __init__(self, box: Box, largest: float) -> None:
        self.cell = max(largest * _GAP, 1.0)
        self.origin = (box[0], box[2])
        self.cells: dict[tuple[int, int], list[tuple[float, float, float]]] = {}

    def _at(self, x: float, y: float) -> tuple[int, int]:
        return math.floor((x - self.origin[0]) / self.cell), math.floor((y - self.origin[1]) / self.cell)

    def free(self, x: float, y: float, radius: float) -> bool:
        """Whether a disc fits here."""
        column, row = self._at(x, y)
        for i in (column - 1, column, column + 1):
            for j in (row - 1, row, row + 1):
                for u, v, r in self.cells.get((i, j), ()):
                    reach = _GAP * (radius + r)
                    if (x - u) ** 2 + (y - v) ** 2 < reach * reach:
                        return False
        return True

    def put(self, x: float, y: float, radius: float) -> None:
        """Place a disc."""
        self.cells.setdefault(self._at(x, y), []).append((x, y, radius))


def arrange(rng: np.random.Generator, diameter: FloatArray, box: Box, arrangement: str) -> FloatArray:
    """Centres (n, 2) of hard discs in a box; nan where no room was found in 200 tries."""
    if not len(diameter):
        return np.empty((0, 2))
    discs = _Discs(box, float(diameter.max()))
    if arrangement == "even":
        tries = _lattice(rng, len(diameter), box)
    elif arrangement == "clustered":
        tries = _clusters(rng, len(diameter), box)
    else:
        tries = None
    centres = np.full((len(diameter), 2), math.nan)
    for k in np.argsort(-diameter) if tries is None else range(len(diameter)):
        for attempt in range(200 if tries is None else tries.shape[1]):
            if tries is None:
                u, v = box[0] + rng.random() * (box[1] - box[0]), box[2] + rng.random() * (box[3] - box[2])
            else:
                u, v = float(tries[k, attempt, 0]), float(tries[k, attempt, 1])
            if discs.free(u, v, diameter[k] / 2):
                discs.put(u, v, diameter[k] / 2)
                centres[k] = u, v
                break
    return centres


def _lattice(rng: np.random.Generator, count: int, box: Box) -> FloatArray:
    """A hexagonal lattice, disturbed by 12 % of its spacing; two tries a point."""
    width, height = box[1] - box[0], box[3] - box[2]
    spacing = math.sqrt(2 / math.sqrt(3) * width * height / max(count, 1))
    rows = np.arange(math.ceil(height / (spacing * math.sqrt(3) / 2)) + 1)
    columns = np.arange(math.ceil(width / spacing) + 1)
    grid = np.stack(np.meshgrid(columns, rows), axis=-1).reshape(-1, 2).astype(float)
    points = np.column_stack([grid[:, 0] + 0.5 * (grid[:, 1] % 2), grid[:, 1] * math.sqrt(3) / 2]) * spacing
    points += np.array([box[0], box[2]])
    inside = (points[:, 0] < box[1]) & (points[:, 1] < box[3])
    points = rng.permutation(points[inside])[:count]
    if len(points) < count:
        # A few more than the lattice holds: they find no place, as their tries are all taken.
        points = np.vstack([points, points[: count - len(points)]])
    return points[:, None, :] + rng.normal(0, 0.12 * spacing, (count, 8, 2))


def _clusters(rng: np.random.Generator, count: int, box: Box) -> FloatArray:
    """Points scattered around random centres (about ten a centre), many tries a point."""
    width, height = box[1] - box[0], box[3] - box[2]
    parents = max(3, round(count / 10))
    centre = np.column_stack([box[0] + rng.random(parents) * width, box[2] + rng.random(parents) * height])
    spread = 0.28 * math.sqrt(width * height / parents)
    of = rng.integers(0, parents, count)
    return centre[of][:, None, :] + rng.normal(0, spread, (count, 60, 2))


def touching_partners(
    rng: np.random.Generator, centres: FloatArray, diameter: FloatArray, partners: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray, NDArray[np.int64]]:
    """Put each partner in contact (0.93–1 of the sum of radii) with a particle that has room."""
    there = np.isfinite(centres[:, 0])
    x, y, d = list(centres[there, 0]), list(centres[there, 1]), list(diameter[there])
    pair = [-1] * len(x)
    order, number = rng.permutation(len(x)), 0
    for k in order:
        if number == len(partners):
            break
        radius = partners[number] / 2
        others = np.array([x, y, d])
        for angle in rng.random(12) * 2 * math.pi:
            reach = (d[k] / 2 + radius) * rng.uniform(0.93, 1.0)
            u, v = x[k] + reach * math.cos(angle), y[k] + reach * math.sin(angle)
            far = np.hypot(others[0] - u, others[1] - v) >= _GAP * (others[2] / 2 + radius)
            if far.sum() == len(x) - 1 and not far[k]:
                x.append(u)
                y.append(v)
                d.append(2 * radius)
                pair[k] = number
                pair.append(number)
                number += 1
                break
    return np.array(x), np.array(y), np.array(d), np.array(pair, dtype=np.int64)
