"""A circle through the part of an outline that is seen."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from halfcell.results import FloatArray


class Circle(NamedTuple):
    """A circle's middle and radius."""

    x: float
    y: float
    radius: float


def circle_through(x: FloatArray, y: FloatArray) -> Circle | None:
    """Centre and radius of the circle through points, least squares of distances (one Gauss–Newton step
    after the algebraic fit)."""
    design = np.column_stack([x, y, np.ones_like(x)])
    try:
        solved = np.linalg.solve(design.T @ design, design.T @ (x * x + y * y))
    except np.linalg.LinAlgError:
        return None
    a, b = solved[0] / 2, solved[1] / 2
    square = solved[2] + a * a + b * b
    if square <= 0:
        return None
    r = math.sqrt(square)
    away = np.hypot(x - a, y - b)
    jacobian = np.column_stack([-(x - a) / away, -(y - b) / away, -np.ones_like(x)])
    try:
        step = np.linalg.solve(jacobian.T @ jacobian, -jacobian.T @ (away - r))
    except np.linalg.LinAlgError:
        return None
    return Circle(float(a + step[0]), float(b + step[1]), float(r + step[2]))


def arc_of(outline: NDArray[np.float32], shape: tuple[int, int]) -> Circle | None:
    """The circle of which the part of an outline (k, 2) inside the frame is an arc; None where it is no arc of one.

    Points within two pixels of the frame of an image of ``shape`` (rows, columns) are the frame's, not the particle's.
    At least 8 must be left, and lie within 5 % of the radius, or half a pixel, of the circle (root mean square).
    """
    points = outline.astype(np.float64)
    free = ((points > 2.0) & (points < np.array([shape[1] - 3.0, shape[0] - 3.0]))).all(axis=1)
    if free.sum() < 8:
        return None
    origin = points[free].mean(axis=0)
    x, y = (points[free] - origin).T
    found = circle_through(x, y)
    if found is None:
        return None
    off = np.hypot(x - found.x, y - found.y) - found.radius
    if not math.sqrt(float((off**2).mean())) <= max(0.05 * found.radius, 0.5):
        return None
    return Circle(float(origin[0]) + found.x, float(origin[1]) + found.y, found.radius)


def completed(r: FloatArray, ok: NDArray[np.bool_], angle: FloatArray, circle: Circle) -> FloatArray:
    """Edges where there are some, the fitted circle where the particle is hidden."""
    a, b, radius = circle
    along = a * np.cos(angle) + b * np.sin(angle)
    root = np.sqrt(np.maximum(radius**2 - (a * a + b * b) + along**2, 0.0))
    return np.where(ok, r, np.maximum(along + root, 0.5))
