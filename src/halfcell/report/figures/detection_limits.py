"""Limits of one electrode by every definition, side by side with their intervals."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from halfcell.report.figures.style import COLOURS, GREY, axes

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from halfcell.pipeline.outcome import Exhibit

_MARKS = {"decision": "s", "detection": "o", "quantification": "^"}


def draw(exhibit: Exhibit, colours: Mapping[str, str]) -> Figure:
    """A dot and its interval for each definition; open where something it needs does not hold."""
    from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

    d = exhibit.data
    colour = colours.get(exhibit.group, COLOURS[0])
    names = list(dict.fromkeys(d["definition"]))
    figure, (ax,) = axes(6.4, 0.9 + 0.42 * len(names))
    for k, name in enumerate(d["definition"]):
        y = names.index(name) + {"decision": -0.2, "detection": 0.0, "quantification": 0.2}[d["kind"][k]]
        low, high = d["low"][k] * 1e3, d["high"][k] * 1e3
        ax.plot([low, high if np.isfinite(high) else low * 100], [y, y], color=GREY, lw=1.0)
        ax.plot(
            d["value"][k] * 1e3,
            y,
            _MARKS[d["kind"][k]],
            color=colour,
            ms=5,
            mfc="none" if d["fails"][k] else colour,
        )
    ax.set_yticks(range(len(names)), names)
    ax.invert_yaxis()
    ax.set_xscale("log")
    ax.xaxis.set_major_locator(LogLocator(subs=(1, 2, 5)))
    ax.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
    ax.xaxis.set_minor_formatter(NullFormatter())
    ax.set_xlabel("concentration / µmol L⁻¹")
    ax.set_title(exhibit.title)
    handles = [ax.plot([], [], mark, color=colour, ls="", label=kind)[0] for kind, mark in _MARKS.items()]
    ax.legend(handles=handles, frameon=False, fontsize=8)
    return figure
