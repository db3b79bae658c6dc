"""Can the confounder be told from the analyte?"""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """A word and the reason for it."""

    word: str
    why: str


def told_apart(
    *,
    low: float,
    high: float,
    limit_of_detection: float,
    p_additive: float,
    level: float,
    resolution: float,
    made_from_analyte: bool,
    same_direction: bool,
) -> Verdict:
    """How a confounder whose false level lies between ``low`` and ``high`` can be told from the analyte.

    Levels in one unit; ``resolution`` is nan where no two peaks were seen. By potential when the peaks are
    further apart than their mean width; by difference when the signals add up, so that a reading without
    the analyte can be subtracted; not where the confounder may be made from the analyte itself, for then
    no reading without the analyte holds it.
    """
    if math.isfinite(resolution) and resolution > 1:
        return Verdict(
            word="by potential", why=f"the peaks are {resolution:.2g} times their mean width apart"
        )
    if made_from_analyte and same_direction:
        why = "the analyte can form this species at the electrode, and both flow in the same direction: no record here separates the analyte's own current from that of the species made of it"
        return Verdict(word="indistinguishable", why=why)
    if math.isfinite(limit_of_detection) and max(-low, high) <= limit_of_detection:
        return Verdict(
            word="not needed",
            why="what it reads as stays below the limit of detection, its interval included",
        )
    if math.isnan(p_additive):
        return Verdict(
            word="no",
            why="the analyte was not varied with the species present, so that a difference cannot be trusted",
        )
    if p_additive < 1 - level:
        return Verdict(word="no", why="the analyte's slope changes with the species present")
    return Verdict(
        word="by difference",
        why="nothing shows that the signals do not add up, so a reading without the analyte can be subtracted",
    )
