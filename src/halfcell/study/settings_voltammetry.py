"""Keys of [analysis.voltammetry]."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from halfcell.study import quantity as q
from halfcell.study.quantity import Part


class Monolayer(Part):
    """A monolayer whose charge gives the real area of a material: `[[analysis.voltammetry.monolayers]]`."""

    material: str = Field(description="The material it is on.")
    process: Literal["hydrogen on platinum", "carbon monoxide on platinum", "oxide on gold", "oxide on palladium", "other"] = Field(description="Which monolayer; its usual charge density is known, but for `other`.")  # fmt: skip
    direction: Literal["anodic", "cathodic"] = Field(description="Direction of the sweep it is read on.")
    start: q.Potential = Field(description="Its charge is counted from this potential …")
    end: q.Potential = Field(description="… to this one.")
    double_layer_from: q.Potential | None = Field(
        None, description="Only charging is seen from this potential …"
    )
    double_layer_to: q.Potential | None = Field(None, description="… to this one; empty: the capacitance found in the blanks is taken off.")  # fmt: skip
    charge_density: q.ChargeDensity | None = Field(None, description="Charge of the monolayer per real area, where another than the usual one is to be used.")  # fmt: skip


class VoltammetrySettings(Part):
    """How voltammograms are analysed."""

    direction: Literal["auto", "anodic", "cathodic"] = Field("auto", description="Which process is the analyte's; auto: the larger change against the blank.")  # fmt: skip
    baseline: Literal["auto", "line", "tangent", "polynomial", "smooth"] = Field("auto", description="Baseline under a peak.")  # fmt: skip
    peak_from: q.Potential | None = Field(None, description="Look for the peak from this potential …")
    peak_to: q.Potential | None = Field(None, description="… to this one.")
    peaks: int = Field(1, ge=1, le=4, description="Number of overlapping peaks of the analyte to fit on each branch; 1: the peak is measured over its baseline alone.")  # fmt: skip
    peak_shape: Literal["diffusion", "bound layer"] = Field(
        "diffusion", description="Shape of overlapping peaks."
    )
    capacitance_potential: q.Potential | None = Field(None, description="Potential at which the charging current is read; empty: chosen where nothing reacts.")  # fmt: skip
    window_current_density: q.CurrentDensity = Field(1.0, description="Current density that ends the potential window.")  # fmt: skip
    monolayers: list[Monolayer] = Field(
        default_factory=list, description="Monolayers whose charge gives real areas."
    )
    metal_ion: dict[str, q.Concentration] = Field(default_factory=dict, description="Material to the concentration of its ion in the deposition bath, for the density of nuclei.")  # fmt: skip
    reference_to: str = Field(
        "", description='State potentials against this electrode as well, such as "SHE" or "RHE".'
    )
