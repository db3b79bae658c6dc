"""Desirability of the candidates as one weight moves, the others kept."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from halfcell.report.figures.style import GREY, INK, LINES, axes

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from halfcell.pipeline.outcome import Exhibit


def draw(exhibit: Exhibit, colours: Mapping[str, str]) -> Figure:
    """One panel a want whose weight can change the lead; dotted: the weight now, circles: the crossings."""
    names, panels = list(exhibit.data["names"]), list(exhibit.data["panels"])
    columns = min(3, len(panels))
    rows = -(-len(panels) // columns)
    figure, grid = axes(width=2.4 + 2.6 * columns, height=2.8 * rows, rows=rows, columns=columns)
    for ax, panel in zip(grid, panels, strict=False):
        x = np.asarray(panel["weights"])
        for i, name in enumerate(names):
            ax.plot(
                x,
                panel["curves"][i],
                LINES[i % len(LINES)],
                color=colours.get(name, GREY),
                lw=1.8,
                label=name,
            )
        ax.axvline(float(panel["now"]), color=INK, ls=":", lw=1)
        for weight in np.asarray(panel["turning"]):
            height = float(np.interp(weight, x, panel["curves"][0]))
            ax.plot(weight, height, "o", ms=7, mfc="none", mec=INK)
        ax.set_xlabel(f"Weight of {panel['want']}")
        ax.set_ylabel("Desirability")
    for ax in grid[len(panels) :]:
        ax.set_visible(False)
    grid[0].legend(frameon=False, fontsize=8.5)
    return figure
