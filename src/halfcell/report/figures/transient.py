"""A deposition transient with both limits of growth, and the same in dimensionless form."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from halfcell.report.figures.style import GREY, INK, axes

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from halfcell.pipeline.outcome import Exhibit


def draw(exhibit: Exhibit, colours: Mapping[str, str]) -> Figure:
    """Left: current against time with both fits. Right: (i/i_m)² against t/t_m, charging and background taken off."""
    data, colour = exhibit.data, colours.get(exhibit.group, INK)
    figure, (left, right) = axes(8.2, 3.5, columns=2)
    t, i = np.asarray(data["time"]), np.asarray(data["current"])
    left.plot(t, i * 1e6, color=colour, lw=1.0, label="as recorded, without its sign")
    left.set_xlabel("t / s")
    left.set_ylabel("|I| / µA")
    if "word" not in data:
        left.legend(frameon=False, fontsize=8)
        return figure
    left.plot(
        data["fit_time"],
        np.asarray(data["instantaneous"]) * 1e6,
        color=INK,
        lw=0.9,
        ls="--",
        label="instantaneous",
    )
    left.plot(
        data["fit_time"],
        np.asarray(data["progressive"]) * 1e6,
        color=GREY,
        lw=0.9,
        ls=":",
        label="progressive",
    )
    left.set_ylim(0, 1.15 * float(np.quantile(i, 0.995)) * 1e6)
    left.legend(frameon=False, fontsize=8)
    growth = i - data["charging"] * np.exp(-t / data["decay"]) - data["background"]
    x = np.linspace(0.01, 5, 400)
    right.plot(
        x, 1.9542 / x * (1 - np.exp(-1.2564 * x)) ** 2, color=INK, lw=0.9, ls="--", label="instantaneous"
    )
    right.plot(
        x, 1.2254 / x * (1 - np.exp(-2.3367 * x**2)) ** 2, color=GREY, lw=0.9, ls=":", label="progressive"
    )
    near = (t > 0) & (t < 5 * data["at"])
    right.plot(t[near] / data["at"], (growth[near] / data["maximum"]) ** 2, ".", color=colour, ms=2)
    right.set_ylim(0, 1.3)
    right.set_xlabel("t / t_m")
    right.set_ylabel("(i / i_m)²")
    right.set_title(
        "neither limit fits"
        if data["neither"]
        else f"{data['word']} (probability {data['probability']:.3f})",
        loc="left",
    )
    return figure
