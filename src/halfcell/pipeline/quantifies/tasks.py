"""Work on one current–time record, done in a worker and kept by content."""

from __future__ import annotations

from typing import TYPE_CHECKING

from halfcell.amperometry.additions import AdditionTrace, read_additions
from halfcell.amperometry.steps import SampledSteps, sample_steps
from halfcell.errors import MethodError

if TYPE_CHECKING:
    from halfcell.recording import Recording


def additions_of(
    recording: Recording,
    *,
    log: list[float] | None,
    removed: list[float],
    added: list[float],
    moved: list[list[float]],
    settle: float,
    sample_from: float | None,
    sample_to: float | None,
) -> AdditionTrace:
    """The steps and plateaus of a stirred record."""
    if recording.time is None:
        raise MethodError("The file holds no time; a record of additions needs it.")
    return read_additions(
        recording.time,
        recording.current,
        log=log,
        removed=removed,
        added=added,
        moved=[(a, b) for a, b in moved],
        settle=settle,
        sample_from=sample_from,
        sample_to=sample_to,
    )


def steps_of(
    recording: Recording, *, to: float | None, sample_from: float | None, sample_to: float | None
) -> SampledSteps:
    """The sampled currents of a record of potential steps."""
    if recording.time is None:
        raise MethodError("The file holds no time; a potential step needs it.")
    return sample_steps(
        recording.time,
        recording.current,
        recording.potential,
        to=to,
        sample_from=sample_from,
        sample_to=sample_to,
    )
