"""The analyte's points with and without a confounder."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from halfcell.report.figures.style import COLOURS, GREY, INK, axes

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from halfcell.pipeline.outcome import Exhibit


def draw(exhibit: Exhibit, colours: Mapping[str, str]) -> Figure:
    """Filled: without; open: with. The arrow is the confounder's signal, the bracket what it is read as."""
    d = exhibit.data
    colour = colours.get(exhibit.group, COLOURS[0])
    figure, (ax,) = axes(6.4, 3.8)
    x, y, present = d["x"] * 1e3, d["y"] * 1e6, d["present"] > 0
    end = float(x.max()) * 1.05 or 1.0
    at = np.array([0.0, end])
    base, slope, signal = d["base"] * 1e6, d["slope"] * 1e3, d["signal"] * 1e6
    ax.plot(at, base + slope * at, color=colour, lw=1.2)
    ax.plot(at, base + signal + d["slope_with"] * 1e3 * at, color=colour, lw=1.2, ls="--")
    ax.plot(x[~present], y[~present], "o", color=colour, ms=5, label=f"without {exhibit.condition}")
    ax.plot(x[present], y[present], "o", mfc="white", color=colour, ms=5, label=f"with {exhibit.condition}")
    ax.annotate("", (0, base + signal), (0, base), arrowprops={"arrowstyle": "->", "color": INK, "lw": 1.2})
    ax.axhline(base, color=GREY, lw=0.6, ls=":")
    ax.set_xlabel("concentration of the analyte / µmol L⁻¹")
    ax.set_ylabel("current / µA")
    ax.set_title(exhibit.title)
    ax.legend(frameon=False, fontsize=8)
    return figure
