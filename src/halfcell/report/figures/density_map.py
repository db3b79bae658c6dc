"""Where particles are dense or bare."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from halfcell.report.figures.style import INK, axes

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from halfcell.pipeline.outcome import Exhibit


def draw(exhibit: Exhibit, colours: Mapping[str, str]) -> Figure:
    """Local density over the mean, around 1, with the outlines of places significantly dense or bare."""
    data = exhibit.data
    width, height = float(data["width_nm"]), float(data["height_nm"])
    figure, (ax,) = axes(5.8, 5.8 * height / width * 0.85 + 0.5)
    density = np.asarray(data["density"])
    reach = max(float(np.nanmax(np.abs(density - 1), initial=0.0)), 0.2)
    shown = ax.imshow(
        density,
        cmap="PuOr_r",
        vmin=1 - reach,
        vmax=1 + reach,
        extent=(0, width, height, 0),
        interpolation="nearest",
    )
    x = (np.arange(density.shape[1]) + 0.5) * width / density.shape[1]
    y = (np.arange(density.shape[0]) + 0.5) * height / density.shape[0]
    if (density > data["dense"]).any():
        ax.contour(x, y, density, levels=[float(data["dense"])], colors="#7F3B08", linewidths=1.8)
    if (density < data["bare"]).any():
        ax.contour(
            x, y, density, levels=[float(data["bare"])], colors="#2D004B", linewidths=1.8, linestyles="--"
        )
    if np.isnan(density).any():
        # Cells that are masked are left white and hatched.
        ax.patch.set(hatch="//", edgecolor="#999999")
    ax.plot(data["x_nm"], data["y_nm"], ".", color=INK, ms=2.5)
    ax.set_xlim(0, width)
    ax.set_ylim(height, 0)
    ax.set_xlabel("x / nm")
    ax.set_ylabel("y / nm")
    ax.set_title(f"{exhibit.title}", color=INK, size=10)
    bar = figure.colorbar(shown, ax=ax, shrink=0.85)
    bar.set_label("local density over the mean", color=INK, size=9)
    return figure
