"""A histogram of particle sizes with the model that fits it best."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from halfcell.report.figures.style import GREY, INK, axes
from halfcell.units import percent

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from halfcell.pipeline.outcome import Exhibit
    from halfcell.results import FloatArray


def draw(exhibit: Exhibit, colours: Mapping[str, str]) -> Figure:
    """Weighted histogram, every diameter as a tick, normal or log-normal density, mean and D[4,3]."""
    data = exhibit.data
    d, w = np.asarray(data["diameter_nm"]), np.asarray(data["weight"])
    colour = colours.get(exhibit.group, "#0072B2")
    figure, (ax,) = axes(6.4, 3.6)
    ordered = np.sort(d)
    spread = ordered[int(0.75 * (len(d) - 1))] - ordered[int(0.25 * (len(d) - 1))]
    width = max(2 * spread / len(d) ** (1 / 3), (ordered[-1] - ordered[0]) / 60, 1e-9)
    edges = np.arange(ordered[0] - width / 2, ordered[-1] + 1.5 * width, width)
    heights, edges = np.histogram(d, bins=edges, weights=w)
    ax.bar(
        edges[:-1],
        heights / (w.sum() * width),
        width=width,
        align="edge",
        color=colour,
        alpha=0.35,
        edgecolor=colour,
        lw=0.8,
    )
    ax.plot(d, np.zeros_like(d), "|", color=colour, ms=6, alpha=0.6, clip_on=False)
    x = np.linspace(max(edges[0] * 0.8, 1e-3), edges[-1] * 1.05, 400)
    best, other = _models(data, x)
    ax.plot(x, best[1], color=INK, lw=1.6, label=best[0])
    ax.plot(x, other[1], color=GREY, lw=1.1, ls="--", label=other[0])
    if len(data["two_medians_nm"]):
        for median, sigma, share in zip(
            data["two_medians_nm"], data["two_sigmas"], data["two_shares"], strict=True
        ):
            ax.plot(
                x,
                share * _log_normal(x, median, sigma),
                color=colour,
                lw=1.3,
                ls=":",
                label=f"{percent(share)} around {median:.1f} nm",
            )
    ax.axvline(data["mean_nm"], color=INK, lw=0.9, ls="-.", label=f"mean {data['mean_nm']:.1f} nm")
    ax.axvline(
        data["volume_mean_nm"], color=colour, lw=0.9, ls="-.", label=f"D[4,3] {data['volume_mean_nm']:.1f} nm"
    )
    ax.set_xlabel("diameter / nm")
    ax.set_ylabel("share of particles per nm")
    ax.set_ylim(bottom=0)
    ax.set_title(f"{exhibit.title} (n = {data['n']})", color=INK, size=10)
    ax.legend(frameon=False, fontsize=8)
    return figure


def _models(
    data: Mapping[str, object], x: FloatArray
) -> tuple[tuple[str, FloatArray], tuple[str, FloatArray]]:
    mean, s = float(data["mean_nm"]), max(float(data["spread_nm"]), 1e-9)  # type: ignore[arg-type]
    normal = np.exp(-0.5 * ((x - mean) / s) ** 2) / (s * math.sqrt(2 * math.pi))
    logs = _log_normal(x, float(data["log_median_nm"]), float(data["log_sigma"]))  # type: ignore[arg-type]
    curves = {"log-normal": logs, "normal": normal}
    best = str(data["model"])
    rest = next(name for name in curves if name != best)
    return (f"{best} (better by ΔAICc = {data['evidence']:.1f})", curves[best]), (rest, curves[rest])


def _log_normal(x: FloatArray, median: float, sigma: float) -> FloatArray:
    s = max(math.log(sigma), 1e-9)
    return np.asarray(np.exp(-0.5 * (np.log(x / median) / s) ** 2) / (x * s * math.sqrt(2 * math.pi)))
