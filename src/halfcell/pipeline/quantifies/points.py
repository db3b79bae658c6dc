"""Points of calibrations: one current at one level on one electrode, whatever record it came from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from halfcell.pipeline.bench import Bench
    from halfcell.results import Measured
    from halfcell.study.model import Run, Solution

ORDER = ("additions", "pulses", "potential steps", "voltammograms")
"""Kinds of record in the order in which they are preferred for the main calibration."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """``level`` mol/m³ with standard uncertainty ``u_level``; ``current`` A; ``series`` tells records apart.

    The stock's uncertainty, which all levels share, is not in ``u_level``: see standardised.with_stock.
    """

    electrode: str
    kind: str
    solution: str
    level: float
    u_level: float
    current: Measured
    run: Run
    series: str = ""
    volume: float = 1.0
    """Volume of solution over that before the first addition."""
    noise: Measured | None = None
    """Standard deviation of single readings in the plateau, A, with its degrees of freedom."""
    rejected: str = ""
    """The reason, where a person rejected it."""


def is_clean(solution: Solution | None) -> bool:
    """Whether a solution holds no known confounder: no air let in, no other species, as far as it says."""
    if solution is None:
        return True
    return solution.oxygen not in {"air", "stated"} and not solution.confounder


def is_plain(run: Run) -> bool:
    """Whether a run belongs to the calibration: no sample, not after exposure or storage."""
    return not run.sample and not run.exposure and not run.age


def rejection(bench: Bench, point: Point) -> str:
    """A person's reason for leaving this point out, or nothing."""
    for decision in bench.study.decisions(point.run.file, "reject point"):
        if decision.kind != "reject point" or decision.electrode != point.electrode:
            continue
        if (
            abs(decision.concentration - point.level)
            <= 1e-3 * max(abs(point.level), abs(decision.concentration)) + 1e-12
        ):
            return decision.why
    return ""
