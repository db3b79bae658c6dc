"""Colours, markers and lines of all figures.

One colour a material, from the colour-blind-safe set of Okabe & Ito (2008, "Color Universal
Design"; values from memory); a marker a replicate; a line style a solution.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

COLOURS = ("#0072B2", "#D55E00", "#009E73", "#CC79A7", "#E69F00", "#56B4E9", "#7F6A00", "#000000")
MARKERS = ("o", "s", "^", "D", "v", "P", "X", "<", ">", "h")
LINES = ("-", "--", ":", "-.")
INK = "#1d2733"
GREY = "#8a94a0"


def colours(groups: Sequence[str]) -> dict[str, str]:
    """A colour for each group, the same in every figure of a study."""
    return {group: COLOURS[i % len(COLOURS)] for i, group in enumerate(dict.fromkeys(groups))}


def axes(
    width: float = 6.4, height: float = 3.8, rows: int = 1, columns: int = 1
) -> tuple[Figure, list[Axes]]:
    """A figure (sizes in inches) with its axes in reading order, styled; no global state."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width, height), layout="constrained")
    grid = figure.subplots(rows, columns, squeeze=False)
    flat = [grid[r][c] for r in range(rows) for c in range(columns)]
    for ax in flat:
        plain(ax)
    return figure, flat


def plain(ax: Axes) -> None:
    """Open frame, ink-coloured text, ticks outside."""
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        ax.spines[side].set_color(GREY)
    ax.tick_params(colors=INK, labelsize=8.5, width=0.8)
    ax.xaxis.label.set(color=INK, size=9.5)
    ax.yaxis.label.set(color=INK, size=9.5)
    ax.title.set(color=INK, size=10)
