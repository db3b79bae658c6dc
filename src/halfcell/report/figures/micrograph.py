"""A micrograph with the outlines of what was found, its scale bar, and what is doubtful."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from halfcell.report.figures.style import INK, axes

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from halfcell.pipeline.outcome import Exhibit

_WIDE = 640
"""Most columns of the picture inside a figure."""
_ALONE, _CUT, _GROUP, _CLUMP = "#E69F00", "#56B4E9", "#CC79A7", "#009E73"


def draw(exhibit: Exhibit, colours: Mapping[str, str]) -> Figure:
    """The picture (grey), particles alone (orange), in contact (violet), cut by the frame (blue); agglomerates (green); masked regions hatched."""
    data = exhibit.data
    rows, columns = int(data["rows"]), int(data["columns"])
    figure, (ax,) = axes(6.4, 6.4 * rows / columns + 0.3)
    picture = np.asarray(data["pixels"])
    by = max(1, math.ceil(picture.shape[1] / _WIDE))
    small = picture[: picture.shape[0] // by * by, : picture.shape[1] // by * by]
    small = (
        small.reshape(small.shape[0] // by, by, small.shape[1] // by, by).mean(axis=(1, 3)).astype(np.uint8)
    )
    ax.imshow(
        small,
        cmap="gray",
        vmin=0,
        vmax=255,
        extent=(-0.5, columns - 0.5, rows - 0.5, -0.5),
        interpolation="nearest",
    )
    _outlines(ax, data)
    _masks(ax, data)
    _bar(ax, float(data["nm_per_pixel"]), rows, columns)
    ax.set_xlim(-0.5, columns - 0.5)
    ax.set_ylim(rows - 0.5, -0.5)
    ax.set_xticks([])
    ax.set_yticks([])
    for side in ax.spines.values():
        side.set_visible(False)
    said = "orange alone, violet in contact, blue cut by the frame"
    if len(data["clump_first"]) > 1:
        said += ", green agglomerates"
    if len(data.get("masks", ())):
        said += ", hatched masked"
    ax.set_xlabel(f"{len(data['x'])} outlines: {said}", color=INK)
    return figure


def _outlines(ax: Axes, data: Mapping[str, object]) -> None:
    from matplotlib.collections import LineCollection

    first, outline = np.asarray(data["first"]), np.asarray(data["outline"])
    cut, group = np.asarray(data["cut"]), np.asarray(data["group"])
    closed = []
    for i in range(len(first) - 1):
        points = outline[first[i] : first[i + 1]]
        # Rays are finer than a figure shows: at most 48 corners a particle keep the file small.
        points = points[:: max(1, len(points) // 32)]
        closed.append(np.vstack([points, points[:1]]))
    shades = [_CUT if c else _GROUP if g >= 0 else _ALONE for c, g in zip(cut, group, strict=True)]
    ax.add_collection(LineCollection(closed, colors=shades, linewidths=0.9))
    first, outline = np.asarray(data["clump_first"]), np.asarray(data["clump_outline"])
    clumps = [
        np.vstack([p, p[:1]]) for p in (outline[first[i] : first[i + 1]] for i in range(len(first) - 1))
    ]
    ax.add_collection(LineCollection(clumps, colors=_CLUMP, linewidths=1.2))


def _masks(ax: Axes, data: Mapping[str, object]) -> None:
    from matplotlib.patches import Polygon

    for polygon in data.get("masks", ()):  # type: ignore[attr-defined]
        ax.add_patch(Polygon(np.asarray(polygon), closed=True, fill=False, hatch="//", edgecolor="white", linewidth=1.0, alpha=0.7))  # fmt: skip


def _bar(ax: Axes, nm: float, rows: int, columns: int) -> None:
    wanted = columns * nm / 5
    power = 10 ** math.floor(math.log10(wanted))
    length = next(step * power for step in (5, 2, 1) if step * power <= wanted * (1 + 1e-9))
    x, y = columns * 0.03, rows * 0.95
    ax.plot([x, x + length / nm], [y, y], color="white", lw=4, solid_capstyle="butt")
    ax.plot([x, x + length / nm], [y, y], color="black", lw=1.6, solid_capstyle="butt")
    name = f"{length:g} nm" if length < 1000 else f"{length / 1000:g} µm"
    ax.text(x, y - rows * 0.015, name, color="white", fontsize=9, va="bottom", bbox={"facecolor": "black", "alpha": 0.55, "pad": 1.5, "edgecolor": "none"})  # fmt: skip
