"""Keys of [analysis.amperometry] and [analysis.calibration]."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from halfcell.study import quantity as q
from halfcell.study.quantity import Part


class AmperometrySettings(Part):
    """How current–time records are analysed."""

    sample_from: q.Duration | None = Field(
        None, description="Average the current from this time after the step …"
    )
    sample_to: q.Duration | None = Field(None, description="… to this one; empty: the last part of the step.")
    start_volume: q.Volume | None = Field(None, description="Volume of solution before the first addition.")


class CalibrationSettings(Part):
    """How calibrations are made."""

    weights: Literal["none", "1/x", "1/x2", "replicates"] = Field(
        "none", description="Weights of the straight line."
    )
    limit: str = Field("ICH Q2, residuals", description="Definition of the limit of detection used as `limit_of_detection`.")  # fmt: skip
