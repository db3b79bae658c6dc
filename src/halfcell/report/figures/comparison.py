"""A finding by group: every electrode, mean with interval, letters; beside it the differences of all pairs."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.report.figures.style import GREY, INK, MARKERS, axes
from halfcell.units import pretty

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from halfcell.pipeline.outcome import Exhibit


def draw(exhibit: Exhibit, colours: Mapping[str, str]) -> Figure:
    """Values of the electrodes and the simultaneous intervals of the differences."""
    data = exhibit.data
    pairs = list(data["pairs"])
    rows = max(len(data["names"]) * 1.25, len(pairs))
    figure, panels = axes(
        width=8.6 if pairs else 5.4, height=max(2.8, 0.36 * rows + 1.0), columns=2 if pairs else 1
    )
    _values(panels[0], data, colours)
    if pairs:
        _differences(panels[1], data)
    return figure


def _label(data: Mapping[str, Any]) -> str:
    text, unit = str(data["label"]), pretty(str(data["unit"]))
    text = text[:1].upper() + text[1:]
    return f"{text} / {unit}" if unit else text


def _values(ax: Axes, data: Mapping[str, Any], colours: Mapping[str, str]) -> None:
    """One row a group: electrodes above, mean with interval below, its letters at the right."""
    names, values = list(data["names"]), data["values"]
    rows = np.arange(len(names))[::-1]
    for i, name in enumerate(names):
        colour = colours.get(name.rpartition(", ")[2], GREY)
        x, row = np.asarray(values[name]), rows[i]
        spread = np.linspace(-0.1, 0.1, len(x)) if len(x) > 1 else np.zeros(1)
        for j, (dy, v) in enumerate(zip(spread, x, strict=True)):
            parts = np.asarray(data["parts"][name][j])
            if len(parts) > 1:
                ax.plot(
                    parts,
                    np.full(len(parts), row + 0.18 + dy),
                    ".",
                    ms=2.5,
                    color=colour,
                    alpha=0.45,
                    zorder=2,
                )
            face = colour if data["tested"][i] else "white"
            ax.plot(v, row + 0.18 + dy, MARKERS[j % len(MARKERS)], ms=4.5, mfc=face, mec=colour, zorder=3)
        mean, low, high = (float(data[k][i]) for k in ("means", "lows", "highs"))
        if np.isfinite([low, high]).all():
            ax.errorbar(
                mean,
                row - 0.18,
                xerr=[[mean - low], [high - mean]],
                fmt="|",
                color=INK,
                ms=9,
                capsize=3,
                lw=1.2,
                zorder=4,
            )
        if data["letters"][i]:
            ax.annotate(
                data["letters"][i],
                (1.0, row),
                xycoords=("axes fraction", "data"),
                xytext=(4, 0),
                textcoords="offset points",
                va="center",
                fontsize=9.5,
                color=INK,
            )
    for limit in np.asarray(data.get("limits", ())):
        ax.axvline(float(limit), color=INK, ls="--", lw=1)
        ax.annotate(
            "limit of a must",
            (float(limit), 1.0),
            xycoords=("data", "axes fraction"),
            xytext=(0, 2),
            textcoords="offset points",
            ha="center",
            va="bottom",
            fontsize=7.5,
            color=INK,
        )
    ax.set_yticks(rows, names)
    ax.set_ylim(-0.6, len(names) - 0.4)
    ax.set_xlabel(_label(data))


def _differences(ax: Axes, data: Mapping[str, Any]) -> None:
    pairs = list(data["pairs"])
    y = np.arange(len(pairs))[::-1]
    middle, low, high = (np.asarray(data[k]) for k in ("differences", "difference_lows", "difference_highs"))
    for i in range(len(pairs)):
        shown = bool(data["different"][i])
        colour = INK if shown else GREY
        ax.plot([low[i], high[i]], [y[i], y[i]], "-", color=colour, lw=1.6)
        ax.plot(middle[i], y[i], "o", ms=5, mfc=colour if shown else "white", mec=colour)
        margin = float(data["margins"][i])
        if np.isfinite(margin):
            ax.fill_betweenx([y[i] - 0.3, y[i] + 0.3], -margin, margin, color=GREY, alpha=0.25, lw=0)
    ax.axvline(0, color=INK, lw=0.8)
    ax.set_yticks(y, pairs)
    ax.set_ylim(-0.7, len(pairs) - 0.3)
    unit = pretty(str(data["unit"]))
    ax.set_xlabel("Difference" + (f" / {unit}" if unit else ""))
    ax.set_title(f"Simultaneous {100 * float(data['level']):g} % intervals", loc="left", fontsize=9.5)
