"""One electrode's calibration: points, line, bands, and the residuals below."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from halfcell.report.figures.style import COLOURS, GREY, INK, axes

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from halfcell.pipeline.outcome import Exhibit

_X, _Y = 1e3, 1e6
"""mol/m³ to µmol/L, A to µA."""


def draw(exhibit: Exhibit, colours: Mapping[str, str]) -> Figure:
    """Points with the fitted line, its confidence band (dark) and prediction band (light), and residuals."""
    d = exhibit.data
    colour = colours.get(exhibit.group, COLOURS[0])
    figure, (top, below) = axes(6.4, 4.8, rows=2)
    grid = top.get_gridspec()
    if grid is not None:
        grid.set_height_ratios([3, 1])
    x, line = d["line_x"] * _X, d["line"] * _Y
    for name, strength in (("prediction", 0.12), ("confidence", 0.3)):
        half = d[name] * _Y
        top.fill_between(x, line - half, line + half, color=colour, alpha=strength, lw=0)
    top.plot(x, line, color=colour, lw=1.4, label="line")
    used = d["used"] > 0
    top.plot(d["x"][used] * _X, d["y"][used] * _Y, "o", color=colour, ms=5, label="points of the line")
    if np.any(~used):
        top.plot(
            d["x"][~used] * _X,
            d["y"][~used] * _Y,
            "o",
            mfc="none",
            color=colour,
            ms=5,
            label="outside the linear range",
        )
    if d["rejected_x"].size:
        top.plot(
            d["rejected_x"] * _X, d["rejected_y"] * _Y, "x", color=INK, ms=6, label="rejected by a person"
        )
    top.set_ylabel("current / µA")
    top.set_title(exhibit.title)
    top.legend(frameon=False, fontsize=8)
    below.axhline(0, color=GREY, lw=0.8)
    below.plot(d["residual_x"] * _X, d["residual"] * _Y, "o", color=colour, ms=4)
    below.set_xlim(top.get_xlim())
    below.set_ylabel("residual / µA")
    below.set_xlabel("concentration / µmol L⁻¹")
    return figure
