"""Desirability of each candidate, overall and want by want."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from halfcell.choice.wording import chance
from halfcell.report.figures.style import GREY, INK, MARKERS, axes

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from halfcell.pipeline.outcome import Exhibit


def draw(exhibit: Exhibit, colours: Mapping[str, str]) -> Figure:
    """Left: overall desirability with its interval; right: the parts, one row a want."""
    data = exhibit.data
    names, wants = list(data["names"]), list(data["wants"])
    height = max(2.6, 0.5 * max(len(names), len(wants)) + 1.3)
    figure, (left, right) = axes(width=8.6, height=height, columns=2)
    rows = np.arange(len(names))[::-1]
    for i, name in enumerate(names):
        colour, low, high = colours.get(name, GREY), float(data["lows"][i]), float(data["highs"][i])
        value, best = float(data["desirability"][i]), float(data["best"][i])
        left.plot([low, high], [rows[i]] * 2, "-", color=colour, lw=3, solid_capstyle="butt")
        left.plot(value, rows[i], "o", ms=7, color=colour, mec="white")
        place = (0.5 * (low + high), rows[i])
        left.annotate(
            f"best: {chance(best)}",
            place,
            xytext=(0, 8),
            textcoords="offset points",
            ha="center",
            fontsize=8,
            color=INK,
        )
    left.set_yticks(rows, names)
    left.set_ylim(-0.6, len(names) - 0.2)
    left.set_xlim(-0.02, 1.02)
    left.set_xlabel(f"Desirability, with {100 * float(data['level']):g} % interval")
    lines = np.arange(len(wants))[::-1]
    for i, name in enumerate(names):
        shift = 0.16 * (i - (len(names) - 1) / 2)
        right.plot(
            data["parts"][i],
            lines - shift,
            MARKERS[i % len(MARKERS)],
            color=colours.get(name, GREY),
            ms=6,
            label=name,
        )
    for y in lines:
        right.axhline(y, color=GREY, lw=0.4, zorder=0)
    right.set_yticks(
        lines, [f"{w}\n(weight {float(x):g})" for w, x in zip(wants, data["weights"], strict=True)]
    )
    right.set_xlim(-0.02, 1.02)
    right.set_ylim(-0.6, len(wants) - 0.4)
    right.set_xlabel("Desirability of each want")
    right.legend(frameon=False, fontsize=8.5, loc="best")
    return figure
