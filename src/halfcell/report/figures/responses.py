"""The response of every electrode per area, one colour a material, drawn over each other."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from halfcell.report.figures.style import INK, LINES, axes

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from halfcell.pipeline.outcome import Exhibit


def draw(exhibit: Exhibit, colours: Mapping[str, str]) -> Figure:
    """Current density less that of the blank against potential; controls dashed, bare dotted."""
    figure, (ax,) = axes(7.2, 4.0)
    seen: set[str] = set()
    style = {"candidate": LINES[0], "control": LINES[1], "bare": LINES[2], "bulk": LINES[3]}
    for line in exhibit.data["lines"]:
        group = line["group"]
        ax.plot(
            line["potential"],
            np.asarray(line["density"]) * 100,
            color=colours.get(group, INK),
            ls=style.get(line["role"], "-"),
            lw=1.0,
            label=None if group in seen else group,
        )
        seen.add(group)
    ax.axhline(0, color=INK, lw=0.5)
    ax.set_xlabel(f"E / V vs {exhibit.data['reference_electrode']}")
    ax.set_ylabel("Δj / µA cm⁻²")
    ax.legend(frameon=False, fontsize=8, loc="center left", bbox_to_anchor=(1.0, 0.5))
    return figure
