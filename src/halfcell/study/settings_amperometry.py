"""Keys of [analysis.amperometry] and [analysis.calibration]."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from halfcell.study import quantity as q
from halfcell.study.quantity import Part


class Stock(Part):
    """The added solution, standardised by its absorbance, so that its real concentration replaces that of the logs."""

    absorbance: float = Field(gt=0, description="Absorbance measured, the blank taken off.")
    absorbance_uncertainty: float = Field(0.002, ge=0, description="Its standard uncertainty.")
    absorptivity: q.Absorptivity = Field(
        description="Molar absorptivity; values in use may differ by a tenth."
    )
    absorptivity_uncertainty: float = Field(
        ge=0, lt=0.5, description="Its relative standard uncertainty (0.02 is 2 %).", examples=[0.02]
    )
    absorptivity_source: str = Field(min_length=3, description="Where the absorptivity comes from.")
    path: q.Length = Field(0.01, description="Path length of the cell.")
    dilution: float = Field(1.0, ge=1, description="Volume made up to over volume taken, for the absorbance.")
    dilution_uncertainty: float = Field(0.0, ge=0, lt=0.5, description="Its relative standard uncertainty.")


class AmperometrySettings(Part):
    """How current–time records are analysed."""

    sample_from: q.Duration | None = Field(
        None, description="After a potential step, average the current from this time …"
    )
    sample_to: q.Duration | None = Field(None, description="… to this one; empty: from where the charging current has gone and the current is straight against 1/√t, at the latest half of the step, to its end, the same for all records.")  # fmt: skip
    plateau_from: q.Duration | None = Field(
        None, description="After an addition, average the current from this time …"
    )
    plateau_to: q.Duration | None = Field(
        None, description="… to this one; empty: the last part of the time to the next addition."
    )
    start_volume: q.Volume | None = Field(None, description="Volume of solution before the first addition.")
    settle: float = Field(0.5, gt=0, lt=0.95, description="Share of the time between additions that the current is given to settle before the plateau is read.")  # fmt: skip
    volume_uncertainty: float = Field(0.0, ge=0, lt=0.5, description="Relative standard uncertainty of each added volume (0.01 is 1 %).")  # fmt: skip
    stock: Stock | None = Field(
        None, description="The added solution, standardised by absorbance (`[analysis.amperometry.stock]`)."
    )
    stock_uncertainty: float = Field(0.0, ge=0, lt=0.5, description="Relative standard uncertainty of the added solution's concentration; shared by all levels. Replaced by that of `stock` where there is one.")  # fmt: skip


class CalibrationSettings(Part):
    """How calibrations are made."""

    weights: Literal["none", "1/x", "1/x2", "replicates"] = Field(
        "none", description="Weights of the straight line."
    )
    limit: str = Field("ICH Q2, residuals", description="Definition of the limit of detection used as `limit_of_detection`.")  # fmt: skip
    from_records: Literal["auto", "additions", "potential steps", "voltammograms", "pulses"] = Field("auto", description="Records whose calibration is the main one; auto: those that most electrodes have, in the order additions, pulses, potential steps, voltammograms.")  # fmt: skip
    span: Literal["linear range", "all levels"] = Field(
        "linear range", description="Levels the line is fitted to."
    )
    readings: int = Field(1, ge=1, description="Readings of a sample that will be averaged, for decision and detection limits.")  # fmt: skip
