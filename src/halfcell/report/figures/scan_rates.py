"""A scan-rate study in four panels: voltammograms, exponent, movement of the peak, parts of the current."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.report.figures.style import GREY, INK, axes

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from halfcell.pipeline.outcome import Exhibit


def draw(exhibit: Exhibit, colours: Mapping[str, str]) -> Figure:
    """Raw voltammograms; i_p against v on logarithmic axes; E_p against ln v; k1·v and k2·v^1/2."""
    data, colour = exhibit.data, colours.get(exhibit.group, INK)
    figure, panels = axes(8.4, 6.2, rows=2, columns=2)
    _loops(panels[0], data, colour)
    _exponent(panels[1], data, colour)
    x = np.log(np.asarray(data["rates"]))
    y = np.asarray(data["peak_potentials"])
    panels[2].plot(x, y, "o", color=colour, mfc="white")
    if data["moves"]:
        slope = data["shift"] * data["direction"]
        panels[2].plot(x, y.mean() + slope * (x - x.mean()), color=INK, lw=0.9)
        panels[2].set_title(f"{data['shift'] * 1e3:.1f} mV per e-fold of scan rate", loc="left")
    panels[2].set_xlabel("ln(v / V s⁻¹)")
    panels[2].set_ylabel(f"E_p / V vs {data['reference_electrode']}")
    _parts(panels[3], data, colour)
    return figure


def _loops(ax: Axes, data: Mapping[str, Any], colour: str) -> None:
    most = len(data["loops"])
    for k, loop in enumerate(data["loops"]):
        label = f"{loop['rate'] * 1e3:.4g} mV/s" if k in {0, most - 1} else None
        ax.plot(
            loop["potential"],
            np.asarray(loop["current"]) * 1e6,
            color=colour,
            alpha=0.35 + 0.65 * (k + 1) / most,
            lw=0.9,
            label=label,
        )
    ax.set_xlabel(f"E / V vs {data['reference_electrode']}")
    ax.set_ylabel("I / µA")
    ax.set_title("as recorded", loc="left")
    ax.legend(frameon=False, fontsize=8)


def _exponent(ax: Axes, data: Mapping[str, Any], colour: str) -> None:
    v, i = np.asarray(data["rates"]), np.asarray(data["heights"]) * 1e6
    u = np.nan_to_num(np.asarray(data["heights_u"]) * 1e6)
    ax.errorbar(v * 1e3, i, 2 * u, fmt="o", color=colour, mfc="white")
    ends = np.array([v.min(), v.max()])
    ax.plot(ends * 1e3, math.exp(data["prefactor"]) * ends ** data["exponent"] * 1e6, color=INK, lw=0.9)
    ax.set_xscale("log")
    ax.set_yscale("log")
    ax.set_xlabel("scan rate / mV s⁻¹")
    ax.set_ylabel("peak current / µA")
    ax.set_title(
        f"exponent {data['exponent']:.3f} ({data['exponent_low']:.3f} to {data['exponent_high']:.3f})",
        loc="left",
    )


def _parts(ax: Axes, data: Mapping[str, Any], colour: str) -> None:
    ax.set_xlabel(f"E / V vs {data['reference_electrode']}")
    ax.set_ylabel("part of the current / µA")
    if "parts_potential" not in data:
        ax.set_title("too few records with a blank to tell the parts apart", loc="left")
        return
    e = data["parts_potential"]
    ax.plot(e, np.asarray(data["diffusional"]) * 1e6, color=colour, lw=1.2, label="grows with √v")
    ax.plot(e, np.asarray(data["surface"]) * 1e6, color=GREY, lw=1.2, ls="--", label="grows with v")
    ax.set_title(f"at {data['reference'] * 1e3:.4g} mV/s, blank taken off", loc="left")
    ax.legend(frameon=False, fontsize=8)
