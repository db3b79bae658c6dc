"""The arrangement of particles: nearest neighbours, and Ripley's L with its envelope."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from halfcell.report.figures.style import GREY, INK, axes
from halfcell.units import percent

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from halfcell.pipeline.outcome import Exhibit


def draw(exhibit: Exhibit, colours: Mapping[str, str]) -> Figure:
    """Left: distances to the nearest neighbour and their mean beside those at random. Right: L(r) − r."""
    data = exhibit.data
    colour = colours.get(exhibit.group, "#0072B2")
    figure, (left, right) = axes(8.2, 3.5, 1, 2)
    nearest = np.sort(np.asarray(data["nearest_nm"]))
    left.hist(
        nearest,
        bins=min(30, max(8, len(nearest) // 8)),
        color=colour,
        alpha=0.35,
        edgecolor=colour,
        density=True,
    )
    random = np.asarray(data["nearest_random_nm"])
    left.axvspan(
        float(random.min()), float(random.max()), color=GREY, alpha=0.35, label="means of the random patterns"
    )
    left.axvline(
        float(nearest.mean()),
        color=INK,
        lw=1.4,
        label=f"mean, R = {data['ratio']:.2f} (random {data['ratio_random']:.2f})",
    )
    left.set_xlabel("distance to the nearest neighbour / nm")
    left.set_ylabel("density / nm⁻¹")
    left.legend(frameon=False, fontsize=8)
    r = np.asarray(data["r_nm"])
    right.fill_between(
        r,
        data["low_nm"],
        data["high_nm"],
        color=GREY,
        alpha=0.3,
        lw=0,
        label=f"{percent(data['level'])} of the random patterns, at each r",
    )
    right.plot(r, data["middle_nm"], color=GREY, lw=1, ls="--", label="their mean")
    right.plot(r, data["l_minus_r_nm"], color=colour, lw=1.8, label="this field")
    right.axhline(0, color=INK, lw=0.6)
    right.set_xlabel("distance r / nm")
    right.set_ylabel("L(r) − r / nm")
    right.legend(frameon=False, fontsize=8)
    figure.suptitle(
        f"{exhibit.title}: {data['verdict']} (p = {data['p']:.3f}, n = {data['n']})", color=INK, size=10
    )
    return figure
