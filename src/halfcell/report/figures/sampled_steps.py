"""A potential step: the current with its sampling window, and the same against 1/√t."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from halfcell.report.figures.style import COLOURS, GREY, INK, axes

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from halfcell.pipeline.outcome import Exhibit


def draw(exhibit: Exhibit, colours: Mapping[str, str]) -> Figure:
    """The decay with its construction."""
    d = exhibit.data
    colour = colours.get(exhibit.group, COLOURS[0])
    figure, (left, right) = axes(7.2, 3.4, columns=2)
    t, i = d["time"], d["current"] * 1e6
    left.plot(t, i, color=GREY, lw=0.9)
    left.axvspan(*d["window"], color=colour, alpha=0.15, lw=0)
    left.plot(d["window"], [d["sampled"] * 1e6] * 2, color=colour, lw=2.2)
    low, high = np.percentile(i, [1, 97])
    left.set_ylim(low - 0.15 * (high - low), high + 0.2 * (high - low))
    left.set_xlabel("time after the step / s")
    left.set_ylabel("current / µA")
    left.set_title(f"{d['level'] * 1e3:.3g} µmol L⁻¹")
    after = t > 0
    root = 1 / np.sqrt(t[after])
    shown = root <= 1 / math.sqrt(max(float(t[after][-1]) / 60, float(t[after][0])))
    right.plot(root[shown], i[after][shown], ".", color=GREY, ms=2.5)
    if math.isfinite(d["line_slope"]):
        ends = np.array([1 / math.sqrt(d["line_end"]), 1 / math.sqrt(d["line_start"])])
        right.plot(ends, (d["line_intercept"] + d["line_slope"] * ends) * 1e6, color=colour, lw=1.5)
        right.set_title("straight" if d["straight"] else "not straight", color=INK)
    right.set_xlabel("(time / s)^(−½)")
    right.set_ylabel("current / µA")
    return figure
