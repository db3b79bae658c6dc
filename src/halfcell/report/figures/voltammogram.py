"""A voltammogram: the raw trace with its blank, and beside it the construction of the peak."""

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
    """Left: as recorded, with the blank. Right: the blank taken off, baseline, height and half height."""
    data = exhibit.data
    colour = colours.get(exhibit.group, INK)
    figure, (left, right) = axes(8.2, 3.6, columns=2)
    _raw(left, data, colour)
    _construction(right, data, colour)
    for ax in (left, right):
        ax.set_xlabel(f"E / V vs {data['reference_electrode']}")
    return figure


def _raw(ax: Axes, data: Mapping[str, Any], colour: str) -> None:
    if "blank_potential" in data:
        ax.plot(
            data["blank_potential"],
            np.asarray(data["blank_current"]) * 1e6,
            color=GREY,
            lw=0.9,
            label="blank",
        )
    ax.plot(
        data["raw_potential"],
        np.asarray(data["raw_current"]) * 1e6,
        color=colour,
        lw=1.1,
        label="with analyte",
    )
    ax.set_ylabel("I / µA")
    ax.set_title("as recorded", loc="left")
    ax.legend(frameon=False, fontsize=8)


def _construction(ax: Axes, data: Mapping[str, Any], colour: str) -> None:
    ax.plot(data["potential"], np.asarray(data["current"]) * 1e6, color=colour, lw=1.1)
    ax.set_title("blank taken off" if data["subtracted"] else "as recorded, one direction", loc="left")
    ax.set_ylabel("ΔI / µA" if data["subtracted"] else "I / µA")
    if "peak_potential" not in data:
        if "fit_potential" in data:
            ax.plot(
                data["fit_potential"],
                np.asarray(data["fit_current"]) * 1e6,
                color=INK,
                lw=0.9,
                ls="--",
                label=f"{data['word']}: most probable model",
            )
            ax.plot(
                data["fit_potential"],
                np.asarray(data["fit_background"]) * 1e6,
                color=GREY,
                lw=0.8,
                ls=":",
                label="what it stands on",
            )
            ax.legend(frameon=False, fontsize=8)
        return
    base_e, base_i = np.asarray(data["baseline_potential"]), np.asarray(data["baseline_current"]) * 1e6
    ax.plot(base_e, base_i, color=INK, lw=0.9, ls="--", label=f"baseline ({data['baseline_kind']})")
    for a, b in data["baseline_windows"]:
        ax.axvspan(min(a, b), max(a, b), color=GREY, alpha=0.18, lw=0)
    order = np.argsort(base_e)
    at, height = data["peak_potential"], data["peak_current"] * 1e6
    foot = float(np.interp(at, base_e[order], base_i[order]))
    ax.plot([at, at], [foot, foot + height], color=INK, lw=1.1)
    ax.plot([at], [foot + height], "v" if height > 0 else "^", color=INK, ms=5)
    half = data["half_potential"]
    if math.isfinite(half):
        middle = float(np.interp(half, base_e[order], base_i[order])) + height / 2
        ax.plot([half], [middle], "o", mfc="white", mec=INK, ms=5, label="half height")
        if math.isfinite(data["onset"]):
            start = float(np.interp(data["onset"], base_e[order], base_i[order]))
            ax.plot(
                [data["onset"], half],
                [start, middle],
                color=INK,
                lw=0.8,
                ls=":",
                label="tangent to the onset",
            )
    ax.legend(frameon=False, fontsize=8)
