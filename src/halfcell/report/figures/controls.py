"""The control study: each electrode's response by variant, and the effects with their intervals."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from halfcell.report.figures.style import COLOURS, GREY, INK, axes
from halfcell.units import percent

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from halfcell.pipeline.outcome import Exhibit

_FACE = {"peak": COLOURS[0], "wave": COLOURS[4], "none": "white"}


def draw(exhibit: Exhibit, colours: Mapping[str, str]) -> Figure:
    """Left: responses, the symbol's fill saying the class. Right: main effects and interaction."""
    data = exhibit.data
    figure, (left, right) = axes(9.4, 4.2, columns=2)
    cells = list(dict.fromkeys([c["cell"] for c in data["cells"]] + [p["cell"] for p in data["points"]]))
    for k, cell in enumerate(cells):
        points = [p for p in data["points"] if p["cell"] == cell]
        spread = (np.arange(len(points)) - (len(points) - 1) / 2) * 0.12
        for dx, point in zip(spread, points, strict=True):
            left.plot(k + dx, point["value"] * 1e6, "o", mfc=_FACE.get(point["word"], GREY), mec=INK, ms=6)
    for mean in data["cells"]:
        k = cells.index(mean["cell"])
        left.plot([k - 0.3, k + 0.3], [mean["mean"] * 1e6] * 2, color=INK, lw=1.2)
    for word, face in _FACE.items():
        left.plot([], [], "o", mfc=face, mec=INK, label=word)
    left.set_xticks(range(len(cells)), cells, fontsize=8, rotation=25, ha="right", rotation_mode="anchor")
    left.set_ylabel("response / µA")
    left.legend(frameon=False, fontsize=8)
    names = [e["name"] for e in data["effects"]]
    for k, effect in enumerate(data["effects"]):
        y = len(names) - 1 - k
        right.plot([effect["low"] * 1e6, effect["high"] * 1e6], [y, y], color=INK, lw=1.4)
        right.plot(effect["effect"] * 1e6, y, "o", color=INK, ms=5)
    right.axvline(0, color=GREY, lw=0.8)
    right.set_yticks(range(len(names)), [n.replace(" × ", " ×\n") for n in reversed(names)], fontsize=8)
    right.set_ylim(-0.6, len(names) - 0.4)
    right.set_xlabel(f"effect / µA ({percent(data['level'])} interval)")
    return figure
