"""A stirred record: the current, where additions were made or found, and the plateaus that were read."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from halfcell.report.figures.style import COLOURS, GREY, INK, axes

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from halfcell.pipeline.outcome import Exhibit


def draw(exhibit: Exhibit, colours: Mapping[str, str]) -> Figure:
    """The record with its construction."""
    d = exhibit.data
    colour = colours.get(exhibit.group, COLOURS[0])
    figure, (ax,) = axes(6.8, 3.6)
    ax.plot(d["time"], d["current"] * 1e6, color=GREY, lw=0.7, label="record")
    for at in d["additions"]:
        ax.axvline(at, color=GREY, lw=0.6, ls=":")
    for at in d["unlogged"]:
        ax.axvline(at, color=INK, lw=0.9, ls="--")
    for k, (start, end, value) in enumerate(
        zip(d["plateau_start"], d["plateau_end"], d["plateau"], strict=True)
    ):
        ax.plot(
            [start, end],
            [value * 1e6] * 2,
            color=colour,
            lw=2.6,
            solid_capstyle="butt",
            label="plateau" if k == 0 else None,
        )
    levels = d["levels"]
    for k, level in enumerate(levels):
        where = (d["plateau_start"][k] + d["plateau_end"][k]) / 2
        ax.annotate(
            f"{level * 1e3:.3g}",
            (where, d["plateau"][k] * 1e6),
            textcoords="offset points",
            xytext=(0, 7),
            ha="center",
            fontsize=7,
            color=INK,
        )
    # A spike of an injection must not set the scale.
    inside = np.percentile(d["current"], [0.5, 99.5]) * 1e6
    span = max(float(np.ptp(inside)), 1e-9)
    ax.set_ylim(inside[0] - 0.12 * span, inside[1] + 0.16 * span)
    ax.set_xlabel("time / s")
    ax.set_ylabel("current / µA")
    ax.set_title(exhibit.title + (" (numbers: µmol L⁻¹)" if len(levels) else ""))
    ax.legend(frameon=False, fontsize=8)
    return figure
