"""The scale bar of a data bar, found by its shape; its value is given by a person."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError

if TYPE_CHECKING:
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundBar:
    """A straight horizontal bar: ``length`` and ``thickness`` in pixels, first pixel ``x``, ``y`` (rows from the top)."""

    length: int
    thickness: int
    x: int
    y: int


def find_scale_bar(pixels: NDArray[np.float32], *, bar_rows: int = 0) -> FoundBar:
    """The longest straight run of one extreme grey value with clean ends.

    Parameters
    ----------
    pixels : (rows, columns) array, share of full scale, with the data bar if there is one.
    bar_rows : rows of the data bar at the bottom, where the bar is looked for; 0: everywhere.

    Raises
    ------
    MethodError
        When no run is at least 3 % of the width long.

    Notes
    -----
    A bar is drawn: all its pixels have the lightest or darkest value to within 2 %, it is longer than
    three times its thickness, 3 % to 60 % of the width long, and the same at all its rows (end ticks are allowed for: the
    row that belongs to most rows of equal run counts).
    """
    rows, columns = pixels.shape
    top = rows - bar_rows if bar_rows else 0
    part = pixels[top:]
    best: FoundBar | None = None
    for wanted in (np.float32(part.max()), np.float32(part.min())):
        same = np.abs(part - wanted) <= 0.02
        background = float(same.mean())
        if background > 0.5:
            continue
        best = _longer(best, same, top, columns)
    if best is None:
        raise MethodError("No scale bar was found: there is no straight run of one extreme grey value between 3 % and 60 % of the width. Write the length of a pixel in runs.csv (scale) instead.")  # fmt: skip
    return best


def _longer(best: FoundBar | None, same: NDArray[np.bool_], top: int, columns: int) -> FoundBar | None:
    padded = np.pad(same, ((0, 0), (1, 1)))
    edges = np.diff(padded.astype(np.int8), axis=1)
    runs: dict[tuple[int, int], list[int]] = {}
    for row in np.flatnonzero(same.any(axis=1)):
        begin = np.flatnonzero(edges[row] > 0).tolist()
        end = np.flatnonzero(edges[row] < 0).tolist()
        for left, right in zip(begin, end, strict=True):
            if 0.03 * columns <= right - left <= 0.6 * columns:
                runs.setdefault((left, right), []).append(int(row))
    for (b, e), rows in runs.items():
        thickness = len(rows)
        if e - b > 3 * thickness and (best is None or e - b > best.length):
            best = FoundBar(length=e - b, thickness=thickness, x=b, y=rows[0] + top)
    return best
