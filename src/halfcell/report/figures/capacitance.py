"""Charging: the blanks with the window, and half-difference against scan rate."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from halfcell.report.figures.style import GREY, INK, MARKERS, axes

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from halfcell.pipeline.outcome import Exhibit


def draw(exhibit: Exhibit, colours: Mapping[str, str]) -> Figure:
    """Left: one electrode's blanks and the window the current is read in. Right: all electrodes' lines."""
    data, colour = exhibit.data, colours.get(exhibit.group, INK)
    figure, (left, right) = axes(8.2, 3.5, columns=2)
    for loop in data["loops"]:
        left.plot(loop["potential"], np.asarray(loop["current"]) * 1e6, color=colour, lw=0.8)
    low, high = data["lines"][0]["window"]
    left.axvspan(low, high, color=GREY, alpha=0.25, lw=0)
    left.set_xlabel(f"E / V vs {data['reference_electrode']}")
    left.set_ylabel("I / µA")
    left.set_title(
        f"blanks of {data['loops_of']}, {', '.join(f'{r * 1e3:.4g}' for r in data['rates'])} mV/s", loc="left"
    )
    most = max(float(np.max(line["rates"])) for line in data["lines"])
    for k, line in enumerate(data["lines"]):
        x = np.asarray(line["rates"])
        right.errorbar(
            x * 1e3, np.asarray(line["densities"]) * 100, 2 * np.asarray(line["u"]) * 100, fmt=MARKERS[k % len(MARKERS)], color=colour, ms=4,
            mfc="white", label=line["electrode"],
        )  # fmt: skip
        ends = np.array([0.0, most])
        right.plot(ends * 1e3, (line["intercept"] + line["slope"] * ends) * 100, color=colour, lw=0.8)
    right.set_xlabel("scan rate / mV s⁻¹")
    right.set_ylabel("half-difference / µA cm⁻²")
    right.legend(frameon=False, fontsize=8)
    right.set_title("charging current in the window", loc="left")
    return figure
