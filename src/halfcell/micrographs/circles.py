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


def completed(r: FloatArray, ok: NDArray[np.bool_], angle: FloatArray, circle: Circle) -> FloatArray:
    """Edges where there are some, the fitted circle where the particle is hidden."""
    a, b, radius = circle
    along = a * np.cos(angle) + b * np.sin(angle)
    root = np.sqrt(np.maximum(radius**2 - (a * a + b * b) + along**2, 0.0))
    return np.where(ok, r, np.maximum(along + root, 0.5))
