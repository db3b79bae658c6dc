"""Keys of [analysis.voltammetry]."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from halfcell.study import quantity as q
from halfcell.study.quantity import Part


class VoltammetrySettings(Part):
    """How voltammograms are analysed."""

    direction: Literal["auto", "anodic", "cathodic"] = Field("auto", description="Which process is the analyte's; auto: the larger change against the blank.")  # fmt: skip
    baseline: Literal["auto", "line", "tangent", "polynomial", "smooth"] = Field("auto", description="Baseline under a peak.")  # fmt: skip
    peak_from: q.Potential | None = Field(None, description="Look for the peak from this potential …")
    peak_to: q.Potential | None = Field(None, description="… to this one.")
    capacitance_potential: q.Potential | None = Field(None, description="Potential at which the charging current is read; empty: chosen where nothing reacts.")  # fmt: skip
    window_current_density: q.CurrentDensity = Field(1.0, description="Current density that ends the potential window.")  # fmt: skip
