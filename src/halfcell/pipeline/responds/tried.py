"""A baseline tried under the hand: everything but the peak is worked out once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from halfcell.errors import MethodError
from halfcell.pipeline.responds.voltammogram import branch_in, cycle_used, peak_on, sweeps
from halfcell.voltammetry.background import subtract_blank
from halfcell.voltammetry.response import Response, classify_response
from halfcell.voltammetry.scan_rate_check import check_scan_rate

if TYPE_CHECKING:
    from halfcell.recording import Recording
    from halfcell.results import FloatArray
    from halfcell.voltammetry.peak import Peak


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Prepared:
    """A branch without its blank (V, A), and what is known of its response."""

    potential: FloatArray
    current: FloatArray
    direction: int
    rate: float
    response: Response
    subtracted: bool
    inputs: Mapping[str, Any]


def prepare(records: tuple[Recording, ...], inputs: Mapping[str, Any], direction: int) -> Prepared:
    """The branch as the analysis takes it. Raises MethodError where the analysis finds no peak there."""
    sample, found = records[0], sweeps(records[0])
    rate = check_scan_rate(found.scan_rate, inputs.get("stated_rate"))
    chosen = cycle_used(sample, found, inputs.get("cycle"))
    resistance = inputs.get("resistance") or 0.0
    branch = branch_in(sample, found, direction, chosen.cycle, resistance)
    if branch is None:
        raise MethodError("No sweep in this direction was found.")
    e, y, blank = branch.potential, branch.current, None
    if len(records) > 1:
        other = sweeps(records[1])
        blank_rate = check_scan_rate(other.scan_rate, inputs.get("blank_rate")).used
        last = cycle_used(records[1], other, None).cycle
        under = branch_in(records[1], other, direction, min(chosen.cycle, last), resistance)
        if under is not None:
            try:
                taken = subtract_blank(branch, under, rates=(rate.used, blank_rate))
            except MethodError:
                taken = None
            if taken is not None:
                e, y, blank = taken.potential, taken.difference, taken.blank
    response = classify_response(
        e,
        y,
        sign=direction,
        level=inputs.get("level", 0.95),
        temperature=inputs.get("temperature", 298.15),
        window=inputs.get("peak_window"),
        blank=blank,
    )
    if response.word != "peak":
        raise MethodError(f"The response is a {response.word}: there is no peak to draw a baseline under.")
    return Prepared(
        potential=e,
        current=y,
        direction=direction,
        rate=rate.used,
        response=response,
        subtracted=blank is not None,
        inputs=dict(inputs),
    )


def tried(prepared: Prepared, windows: list[tuple[float, float]] | None) -> Peak:
    """The peak over a baseline through these windows (V), exactly as the analysis would give it.

    None: over the one that stands, by hand or found.
    """
    inputs = prepared.inputs if windows is None else {**prepared.inputs, "windows": windows}
    return peak_on(
        prepared.potential,
        prepared.current,
        prepared.direction,
        prepared.rate,
        prepared.response,
        prepared.subtracted,
        inputs,
    )
