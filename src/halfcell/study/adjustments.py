"""What a person decided by hand: adjustments.toml, one ``[[adjustment]]`` a decision.

Each names its kind, what it is about, who decided it, when and why. The analysis replays them
in the order of the file; nothing else in halfcell may hold a decision of a person.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from halfcell.study import quantity as q
from halfcell.study.quantity import Part


class _Decision(Part):
    who: str = Field("", examples=["first hand"], description="Who decided.")
    when: str = Field("", examples=["2026-05-04T14:30"], description="When, as in 2026-05-04T14:30.")
    why: str = Field(
        "", examples=["the window touched the peak"], description="Why; needed where a point is rejected."
    )


class _OfFile(_Decision):
    file: str = Field(examples=["data/ni1_1mM.csv"], description="The raw file it is about, as in runs.csv.")


class BaselineWindow(_OfFile):
    """The baseline of a peak is drawn through these two stretches of potential."""

    kind: Literal["baseline window"]
    windows: list[tuple[q.Potential, q.Potential]] = Field(min_length=1, max_length=4, examples=['[["0.30 V", "0.36 V"], ["0.64 V", "0.70 V"]]'], description="One to four stretches, each from one potential to another.")  # fmt: skip


class PeakWindow(_OfFile):
    """The peak is looked for between these potentials."""

    kind: Literal["peak window"]
    start: q.Potential = Field(description="From this potential …")
    end: q.Potential = Field(description="… to this one.")


class UseCycle(_OfFile):
    """This cycle is used instead of the one found."""

    kind: Literal["use cycle"]
    cycle: int = Field(ge=1, examples=[2], description="Number of the cycle, from 1.")


class RejectPoint(_Decision):
    """A calibration point is left out, with its reason."""

    kind: Literal["reject point"]
    electrode: str = Field(examples=["Ni-1"], description="The electrode whose calibration it is.")
    file: str = Field(examples=["data/ni1_additions.csv"], description="The raw file the point comes from.")
    concentration: q.Concentration = Field(description="Concentration of the point.")
    why: str = Field(
        min_length=3, examples=["a bubble left the electrode"], description="The reason; shown in the report."
    )


class AddStep(_OfFile):
    """An addition that was not found happened at this time."""

    kind: Literal["add step"]
    time: q.Duration = Field(description="When, in the time of the record.")


class RemoveStep(_OfFile):
    """The addition found near this time was none."""

    kind: Literal["remove step"]
    time: q.Duration = Field(description="Near which time, in the time of the record.")


class MoveStep(_OfFile):
    """The addition found near one time happened at another."""

    kind: Literal["move step"]
    time: q.Duration = Field(description="Near which time it was found.")
    to: q.Duration = Field(description="When it happened.")


class ExcludeParticle(_OfFile):
    """The outline around this point (pixels from the left and the top) is no particle."""

    kind: Literal["exclude particle"]
    x: float = Field(examples=[120.5], description="Pixels from the left.")
    y: float = Field(examples=[88.0], description="Pixels from the top.")


class AddParticle(_OfFile):
    """A particle that was not found: centre and diameter in pixels."""

    kind: Literal["add particle"]
    x: float = Field(examples=[120.5], description="Pixels from the left.")
    y: float = Field(examples=[88.0], description="Pixels from the top.")
    diameter: float = Field(gt=0, examples=[31.0], description="Pixels.")


class SplitParticle(_OfFile):
    """The outline around these points is one particle at each of them."""

    kind: Literal["split particle"]
    points: list[tuple[float, float]] = Field(min_length=2, examples=["[[120.5, 88.0], [131.0, 90.5]]"], description="Points in pixels, from the left and the top.")  # fmt: skip


class MergeParticles(_OfFile):
    """The outlines around these points are one particle."""

    kind: Literal["merge particles"]
    points: list[tuple[float, float]] = Field(min_length=2, examples=["[[120.5, 88.0], [131.0, 90.5]]"], description="Points in pixels, from the left and the top.")  # fmt: skip


class MaskRegion(_OfFile):
    """Nothing inside this polygon (pixels) is analysed."""

    kind: Literal["mask region"]
    polygon: list[tuple[float, float]] = Field(min_length=3, examples=["[[0, 700], [1024, 700], [1024, 768], [0, 768]]"], description="Corners in pixels, from the left and the top.")  # fmt: skip


class ScaleBar(_OfFile):
    """The scale bar found in the image is this long."""

    kind: Literal["scale bar"]
    length: q.Length = Field(description="Length written beside the bar.")


Adjustment = Annotated[
    BaselineWindow
    | PeakWindow
    | UseCycle
    | RejectPoint
    | AddStep
    | RemoveStep
    | MoveStep
    | ExcludeParticle
    | AddParticle
    | SplitParticle
    | MergeParticles
    | MaskRegion
    | ScaleBar,
    Field(discriminator="kind"),
]


class AdjustmentsFile(Part):
    """The whole of adjustments.toml."""

    format: Literal[1] = 1
    adjustment: list[Adjustment] = Field(default_factory=list)
