"""Which runs hold a confounder, and how much of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from halfcell.calibration.oxygen import oxygen_in_air_saturated_water
from halfcell.errors import MethodError

if TYPE_CHECKING:
    from halfcell.study.model import Solution
    from halfcell.study.study import Study

_OXYGEN = {"oxygen", "dissolved oxygen", "o2"}


def is_oxygen(name: str) -> bool:
    """Whether a confounder's name is dissolved oxygen's."""
    return name.strip().lower() in _OXYGEN


def amount(study: Study, name: str, solution: Solution | None) -> float | None:
    """Level of the confounder in a solution in mol/m³: 0 without it, None when it cannot be told.

    Other confounders must be absent: a solution with two of them tells nothing of one.
    """
    if solution is None:
        return None
    if is_oxygen(name):
        if solution.confounder and not is_oxygen(solution.confounder):
            return None
        if solution.oxygen == "removed":
            return 0.0
        if solution.oxygen == "stated":
            return solution.oxygen_concentration
        return _in_air(study) if solution.oxygen == "air" else None
    if solution.oxygen in {"air", "stated"} and _removed_anywhere(study):
        return None
    if solution.confounder == name:
        return solution.confounder_concentration
    return None if solution.confounder else 0.0


def _removed_anywhere(study: Study) -> bool:
    """Where oxygen is removed in some solutions, those with it are no reference for another species."""
    return any(s.oxygen == "removed" for s in study.file.solutions.values())


def _in_air(study: Study) -> float | None:
    try:
        return oxygen_in_air_saturated_water(study.file.temperature)
    except MethodError:
        return next((c.level for name, c in study.file.confounders.items() if is_oxygen(name)), None)
