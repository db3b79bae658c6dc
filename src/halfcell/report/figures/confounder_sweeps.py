"""Voltammograms of a blank with and without a confounder, and their difference."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from halfcell.report.figures.style import COLOURS, GREY, INK, axes

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from halfcell.pipeline.outcome import Exhibit


def draw(exhibit: Exhibit, colours: Mapping[str, str]) -> Figure:
    """The two records and their difference, with the potential at which the analyte is read."""
    d = exhibit.data
    colour = colours.get(exhibit.group, COLOURS[0])
    figure, (ax,) = axes(6.4, 3.6)
    ax.plot(
        d["without_potential"],
        d["without_current"] * 1e6,
        color=GREY,
        lw=1.0,
        label=f"without {exhibit.condition}",
    )
    ax.plot(
        d["with_potential"],
        d["with_current"] * 1e6,
        color=colour,
        lw=1.0,
        ls="--",
        label=f"with {exhibit.condition}",
    )
    ax.plot(
        d["difference_potential"], d["difference_current"] * 1e6, color=colour, lw=1.6, label="difference"
    )
    ax.axvline(d["where"], color=INK, lw=0.8, ls=":")
    ax.plot([d["where"]], [d["current"] * 1e6], "o", color=INK, ms=4)
    ax.set_xlabel("potential / V")
    ax.set_ylabel("current / µA")
    ax.set_title(exhibit.title)
    ax.legend(frameon=False, fontsize=8)
    return figure
