"""Keys of [comparison] and [choice]."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from halfcell.study.quantity import Part


class ComparisonSettings(Part):
    """Which findings are compared between groups."""

    findings: list[str] = Field(default_factory=list, examples=['["sensitivity", "limit_of_detection"]'], description="Names of the findings; empty: those of the choice and the usual ones.")  # fmt: skip
    reference: str = Field(
        "", examples=["bare carbon"], description="Group the others are compared with, when there is one."
    )
    independent: Literal["", "electrodes", "batches"] = Field("", description="What counts as an independent value; empty: batches where every group was made in several with more than one electrode in some, else electrodes.")  # fmt: skip
    margins: dict[str, str] = Field(default_factory=dict, examples=['{ sensitivity = "5 %" }'], description="Finding to the difference that would not matter, such as `sensitivity = \"5 %\"` or a quantity: used to show that two groups are the same.")  # fmt: skip


class Must(Part):
    """A requirement: a finding against a limit, decided by its interval."""

    finding: str = Field(examples=["sensitivity"], description="Name of the finding.")
    at_most: str | None = Field(
        None, examples=["20 umol/L"], description='Upper limit, a quantity such as "20 umol/L".'
    )
    at_least: str | None = Field(None, examples=["5 uA/(mmol/L)"], description="Lower limit.")
    equals: str | None = Field(
        None, examples=["peak"], description='Word that the finding must be, such as "peak".'
    )
    condition: str = Field("", description="Which of the finding's conditions, where there are several.")
    because: str = Field(
        "", examples=["ponds are aerated"], description="Why, in the person's words; shown in the report."
    )


class Want(Part):
    """A wish: a finding to be as high or low as possible within a range, with a weight."""

    finding: str = Field(examples=["sensitivity"], description="Name of the finding.")
    aim: Literal["maximise", "minimise", "target"] = Field(description="Direction.")
    low: str = Field(
        examples=["0 uA/(mmol/L)"],
        description="Value at which the desirability is 0 (maximise) or 1 (minimise).",
    )
    high: str = Field(
        examples=["50 uA/(mmol/L)"], description="Value at which it is 1 (maximise) or 0 (minimise)."
    )
    target: str | None = Field(
        None, examples=["10 uA/(mmol/L)"], description='Value at which it is 1, for aim = "target".'
    )
    weight: float = Field(1.0, ge=0, description="Weight of this wish.")
    shape: float = Field(1.0, gt=0, description="Exponent of the desirability between low and high.")
    condition: str = Field("", description="Which of the finding's conditions, where there are several.")


class ChoiceSettings(Part):
    """What the electrode must do, and what is wanted of it."""

    musts: list[Must] = Field(default_factory=list)
    wants: list[Want] = Field(default_factory=list)
    draws: int = Field(4000, ge=200, le=200000, description="Random draws for the probability of being best.")
