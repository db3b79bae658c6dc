"""Keys of [analysis.micrographs]."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from halfcell.study import quantity as q
from halfcell.study.quantity import Part


class MicrographSettings(Part):
    """How micrographs are analysed."""

    data_bar: Literal["auto", "keep"] | int = Field("auto", description="Rows of a data bar cut from the bottom: found (auto), none (keep), or their number.")  # fmt: skip
    particle_shape: Literal["sphere", "hemisphere"] = Field("hemisphere", description="Shape assumed for volumes and areas of metal.")  # fmt: skip
    smallest: q.Length | None = Field(None, description="Smallest diameter counted.")
