"""The calibrations of a group's electrodes in one figure, one marker an electrode."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from halfcell.report.figures.style import COLOURS, GREY, MARKERS, axes

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from halfcell.pipeline.outcome import Exhibit

_X, _Y = 1e3, 1e6


def draw(exhibit: Exhibit, colours: Mapping[str, str]) -> Figure:
    """Points, lines and confidence bands of all electrodes; standardised residuals below."""
    colour = colours.get(exhibit.group, COLOURS[0])
    figure, (top, below) = axes(6.4, 4.8, rows=2)
    grid = top.get_gridspec()
    if grid is not None:
        grid.set_height_ratios([3, 1])
    below.axhline(0, color=GREY, lw=0.8)
    for k, one in enumerate(exhibit.data["electrodes"]):
        marker = MARKERS[k % len(MARKERS)]
        x, line, half = one["line_x"] * _X, one["line"] * _Y, one["confidence"] * _Y
        top.fill_between(x, line - half, line + half, color=colour, alpha=0.18, lw=0)
        top.plot(x, line, color=colour, lw=1.1)
        used = one["used"] > 0
        top.plot(
            one["x"][used] * _X, one["y"][used] * _Y, marker, color=colour, ms=4.5, label=one["electrode"]
        )
        top.plot(one["x"][~used] * _X, one["y"][~used] * _Y, marker, mfc="none", color=colour, ms=4.5)
        below.plot(one["residual_x"] * _X, one["standardised"], marker, color=colour, ms=4)
    top.set_ylabel("current / µA")
    top.set_title(exhibit.title)
    top.legend(frameon=False, fontsize=8)
    below.set_xlim(top.get_xlim())
    below.set_ylabel("residual / s")
    below.set_xlabel("concentration / µmol L⁻¹")
    return figure
