"""The part of a frame that is looked at: the whole rectangle, or what masks leave of it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Window:
    """A rectangle from (0, 0) to (``width``, ``height``); ``seen`` (rows, columns) is False in its cells that
    are masked, None where nothing is. ``overlap`` (2 rows − 1, 2 columns − 1) counts the cells that stay
    seen when the window is shifted against itself by a whole number of cells."""

    width: float
    height: float
    seen: NDArray[np.bool_] | None
    overlap: FloatArray | None

    @property
    def area(self) -> float:
        """Area that is seen."""
        share = 1.0 if self.seen is None else float(self.seen.mean())
        return self.width * self.height * share

    def contains(self, x: FloatArray, y: FloatArray) -> NDArray[np.bool_]:
        """Which points lie in the part that is seen."""
        inside = (x >= 0) & (y >= 0) & (x < self.width) & (y < self.height)
        if self.seen is None:
            return inside
        rows, columns = self.seen.shape
        i = np.clip(np.floor(y * (rows / self.height)), 0, rows - 1).astype(int)
        j = np.clip(np.floor(x * (columns / self.width)), 0, columns - 1).astype(int)
        return np.asarray(inside & self.seen[i, j])

    def random(self, rng: np.random.Generator, n: int) -> NDArray[np.float32]:
        """Points (n, 2) at random in the part that is seen."""
        at = rng.random((n, 2), dtype=np.float32)
        size = np.array([self.width, self.height], dtype=np.float32)
        if self.seen is None:
            return np.asarray(at * size)
        rows, columns = self.seen.shape
        cells = np.flatnonzero(self.seen)
        chosen = cells[rng.integers(len(cells), size=n)]
        corner = np.column_stack([chosen % columns, chosen // columns]).astype(np.float32)
        return np.asarray((corner + at) * (size / np.array([columns, rows], dtype=np.float32)))

    def translated(self, dx: FloatArray, dy: FloatArray) -> FloatArray:
        """Area that the window and its copy shifted by (dx, dy) have in common (set covariance)."""
        if self.seen is None or self.overlap is None:
            return np.asarray((self.width - np.abs(dx)) * (self.height - np.abs(dy)))
        from scipy.ndimage import map_coordinates

        rows, columns = self.seen.shape
        cell = self.width * self.height / self.seen.size
        at = np.stack([
            np.asarray(dy) * (rows / self.height) + rows - 1, np.asarray(dx) * (columns / self.width) + columns - 1,
        ])  # fmt: skip
        common = map_coordinates(self.overlap, at, order=1, mode="nearest") * cell
        # Of pairs that hardly any shift keeps in the window, each would stand for very many.
        return np.asarray(np.maximum(common, 0.02 * self.area))

    def shares(self, rows: int, columns: int) -> FloatArray:
        """Share (rows, columns) of each of equal rectangles that is seen."""
        if self.seen is None:
            return np.ones((rows, columns))
        own_rows, own_columns = self.seen.shape
        i = np.minimum(((np.arange(own_rows) + 0.5) * rows / own_rows).astype(int), rows - 1)
        j = np.minimum(((np.arange(own_columns) + 0.5) * columns / own_columns).astype(int), columns - 1)
        flat = (i[:, None] * columns + j[None, :]).ravel()
        all_ = np.bincount(flat, minlength=rows * columns)
        seen = np.bincount(flat, weights=self.seen.ravel().astype(float), minlength=rows * columns)
        return np.asarray((seen / np.maximum(all_, 1)).reshape(rows, columns))


def window_of(width: float, height: float, seen: NDArray[np.bool_] | None = None) -> Window:
    """The window of a rectangle whose equal cells ``seen`` (rows, columns) says are looked at; None: all.

    Raises MethodError where nothing is left to look at.
    """
    if not (width > 0 and height > 0):
        raise MethodError(f"A frame of {width} × {height} has no area.")
    if seen is None or bool(np.all(seen)):
        return Window(width=float(width), height=float(height), seen=None, overlap=None)
    kept = np.asarray(seen, dtype=bool)
    if not kept.any():
        raise MethodError("Masks cover the whole frame; nothing is left to look at.")
    from scipy.signal import fftconvolve

    one = kept.astype(np.float64)
    overlap = np.maximum(fftconvolve(one, one[::-1, ::-1]), 0.0)
    return Window(width=float(width), height=float(height), seen=kept, overlap=np.asarray(overlap))


def cells_of(masked: NDArray[np.bool_], *, guard: float, most: int = 320) -> NDArray[np.bool_]:
    """The seen cells (rows, columns) of a frame ``guard`` pixels inside an image, from its masked pixels.

    A cell is seen where the pixel in its middle is; at most ``most`` cells a side.
    """
    rows, columns = masked.shape
    height, width = rows - 2 * guard, columns - 2 * guard
    step = max(width, height) / most if max(width, height) > most else 1.0
    down, across = max(1, math.ceil(height / step)), max(1, math.ceil(width / step))
    i = np.clip(guard + (np.arange(down) + 0.5) * height / down, 0, rows - 1).astype(int)
    j = np.clip(guard + (np.arange(across) + 0.5) * width / across, 0, columns - 1).astype(int)
    return np.asarray(~masked[np.ix_(i, j)])
