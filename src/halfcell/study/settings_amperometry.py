"""Keys of [analysis.amperometry] and [analysis.calibration]."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from halfcell.study import quantity as q
from halfcell.study.fields import takes
from halfcell.study.quantity import Part


class StockDilution(Part):
    """A dilution between the standardised stock and the solution that is added."""

    taken: q.Volume = Field(description="Volume taken.")
    made_up_to: q.Volume = Field(description="Volume it was made up to.")
    taken_uncertainty: float = Field(ge=0, lt=0.5, description="Relative standard uncertainty of the volume taken (0.005 is 0.5 %).", examples=[0.005])  # fmt: skip
    made_up_to_uncertainty: float = Field(ge=0, lt=0.5, description="Relative standard uncertainty of the volume made up to.", examples=[0.001])  # fmt: skip

    @model_validator(mode="after")
    def _possible(self) -> StockDilution:
        if not 0 < self.taken <= self.made_up_to:
            raise ValueError(
                f"a dilution of {self.taken * 1e6:g} mL made up to {self.made_up_to * 1e6:g} mL cannot be: "
                "take more than nothing and make it up to at least as much"
            )
        return self


WAYS: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "absorbance": (
        ("absorbance", "absorptivity", "absorptivity_uncertainty", "absorptivity_source"),
        ("absorbance_uncertainty", "path", "dilution", "dilution_uncertainty"),
    ),
    "titration": (
        ("titrant", "titrant_uncertainty", "titrant_source", "titrant_volume", "titrant_volume_uncertainty", "titrated_volume", "titrated_volume_uncertainty"),
        ("ratio",),
    ),
    "stated concentration": (("concentration", "concentration_uncertainty", "concentration_source"), ()),
}  # fmt: skip
"""Ways to know a stock: the keys each needs, and those it may have."""
_DECAY = ("half_life", "half_life_uncertainty", "decayed_for")


class Stock(Part):
    """The added solution: a stock known by its absorbance, by titration or as stated (the keys of one of these),
    if need be diluted and decayed since, so that its real concentration replaces that of the logs."""

    absorbance: float | None = Field(
        None, gt=0, description="By absorbance: the absorbance, the blank taken off."
    )
    absorbance_uncertainty: float = Field(0.002, ge=0, description="Its standard uncertainty.")
    absorptivity: q.Absorptivity | None = Field(
        None, description="Molar absorptivity; values in use may differ by a tenth."
    )
    absorptivity_uncertainty: float | None = Field(
        None, ge=0, lt=0.5, description="Its relative standard uncertainty (0.02 is 2 %).", examples=[0.02]
    )
    absorptivity_source: str | None = Field(
        None, min_length=3, description="Where the absorptivity comes from."
    )
    path: q.PathLength = Field(0.01, description="Path length of the cell.")
    dilution: float = Field(1.0, ge=1, description="Volume made up to over volume taken, for the absorbance.")
    dilution_uncertainty: float = Field(0.0, ge=0, lt=0.5, description="Its relative standard uncertainty.")
    titrant: q.Concentration | None = Field(None, description="By titration: concentration of the titrant.")
    titrant_uncertainty: float | None = Field(None, ge=0, lt=0.5, description="Its relative standard uncertainty.", examples=[0.001])  # fmt: skip
    titrant_source: str | None = Field(
        None, min_length=3, description="Where the titrant's concentration comes from."
    )
    titrant_volume: q.Volume | None = Field(
        None, description="Volume of titrant used, the blank's taken off."
    )
    titrant_volume_uncertainty: float | None = Field(None, ge=0, lt=0.5, description="Its relative standard uncertainty.", examples=[0.002])  # fmt: skip
    titrated_volume: q.Volume | None = Field(None, description="Volume of the stock that was titrated.")
    titrated_volume_uncertainty: float | None = Field(None, ge=0, lt=0.5, description="Its relative standard uncertainty.", examples=[0.001])  # fmt: skip
    ratio: float = Field(1.0, gt=0, description="Moles of analyte that one mole of titrant stands for.")
    concentration: q.Concentration | None = Field(
        None, description="As stated: concentration of a weighed or certified stock."
    )
    concentration_uncertainty: float | None = Field(None, ge=0, lt=0.5, description="Its relative standard uncertainty.", examples=[0.005])  # fmt: skip
    concentration_source: str | None = Field(
        None, min_length=3, description="Where the concentration comes from."
    )
    dilutions: list[StockDilution] = Field(default_factory=list, description="Dilutions from that stock to the solution added, in order.")  # fmt: skip
    half_life: q.Duration | None = Field(
        None, description="Of a stock that decays: time in which half is lost (first order)."
    )
    half_life_uncertainty: float | None = Field(None, ge=0, lt=0.5, description="Its relative standard uncertainty.", examples=[0.1])  # fmt: skip
    decayed_for: q.Duration | None = Field(
        None, description="Time from the standardisation to the records; one for all of them."
    )

    @property
    def way(self) -> str:
        """How the stock is known: absorbance, titration or stated concentration."""
        return next(way for way, (needed, _) in WAYS.items() if getattr(self, needed[0]) is not None)

    def _given(self, keys: tuple[str, ...]) -> list[str]:
        return [k for k in keys if getattr(self, k) != type(self).model_fields[k].default]

    @model_validator(mode="after")
    def _whole(self) -> Stock:
        begun = {way: found for way, (a, b) in WAYS.items() if (found := self._given(a + b))}
        if len(begun) != 1:
            told = "; ".join(f"{way}: {', '.join(found)}" for way, found in begun.items())
            raise ValueError(
                f"the stock must be known in one way, and keys of more than one are given ({told})"
                if begun
                else "nothing says what the stock holds: give 'absorbance', 'titrant' or 'concentration' with its further keys"
            )
        (way,) = begun
        self._complete(way, WAYS[way][0], begun[way])
        decay = self._given(_DECAY)
        if decay:
            self._complete("decay", _DECAY, decay)
        positive = ("absorptivity", "titrant", "titrant_volume", "titrated_volume", "concentration")
        for key in (*positive, "half_life"):
            value = getattr(self, key)
            if value is not None and value <= 0:
                raise ValueError(f"{key!r} must be above zero")
        return self

    def _complete(self, way: str, needed: tuple[str, ...], given: list[str]) -> None:
        missing = [k for k in needed if k not in given]
        if missing:
            fields = type(self).model_fields
            told = ", ".join(f"{k} = {takes(fields[k]).example}" for k in missing)
            raise ValueError(f"{given[0]!r} is given, but the {way} needs further keys, such as {told}")


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
        None,
        description="The added solution as standardised, diluted and decayed (`[analysis.amperometry.stock]`).",
        examples=[
            '{ concentration = "100 mmol/L", concentration_uncertainty = 0.005, concentration_source = "weighed" }'
        ],
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
