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
    who: str = Field("", description="Who decided.")
    when: str = Field("", description="When, as in 2026-05-04T14:30.")
    why: str = Field("", description="Why; needed where a point is rejected.")


class _OfFile(_Decision):
    file: str = Field(description="The raw file it is about, as in runs.csv.")


class BaselineWindow(_OfFile):
    """The baseline of a peak is drawn through these two stretches of potential."""

    kind: Literal["baseline window"]
    windows: list[tuple[q.Potential, q.Potential]] = Field(min_length=1, max_length=4)


class PeakWindow(_OfFile):
    """The peak is looked for between these potentials."""

    kind: Literal["peak window"]
    start: q.Potential
    end: q.Potential


class UseCycle(_OfFile):
    """This cycle is used instead of the one found."""

    kind: Literal["use cycle"]
    cycle: int = Field(ge=1)


class RejectPoint(_Decision):
    """A calibration point is left out, with its reason."""

    kind: Literal["reject point"]
    electrode: str
    file: str
    concentration: q.Concentration
    why: str = Field(min_length=3, description="The reason; shown in the report.")


class AddStep(_OfFile):
    """An addition that was not found happened at this time."""

    kind: Literal["add step"]
    time: q.Duration


class RemoveStep(_OfFile):
    """The addition found near this time was none."""

    kind: Literal["remove step"]
    time: q.Duration


class MoveStep(_OfFile):
    """The addition found near one time happened at another."""

    kind: Literal["move step"]
    time: q.Duration
    to: q.Duration


class ExcludeParticle(_OfFile):
    """The outline around this point (pixels from the left and the top) is no particle."""

    kind: Literal["exclude particle"]
    x: float
    y: float


class AddParticle(_OfFile):
    """A particle that was not found: centre and diameter in pixels."""

    kind: Literal["add particle"]
    x: float
    y: float
    diameter: float = Field(gt=0)


class SplitParticle(_OfFile):
    """The outline around these points is one particle at each of them."""

    kind: Literal["split particle"]
    points: list[tuple[float, float]] = Field(min_length=2)


class MergeParticles(_OfFile):
    """The outlines around these points are one particle."""

    kind: Literal["merge particles"]
    points: list[tuple[float, float]] = Field(min_length=2)


class MaskRegion(_OfFile):
    """Nothing inside this polygon (pixels) is analysed."""

    kind: Literal["mask region"]
    polygon: list[tuple[float, float]] = Field(min_length=3)


class ScaleBar(_OfFile):
    """The scale bar found in the image is this long."""

    kind: Literal["scale bar"]
    length: q.Length


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
