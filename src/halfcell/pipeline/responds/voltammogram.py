"""One voltammogram against its blank: the work on one file, done in a worker."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.errors import MethodError
from halfcell.pipeline.responds.traces import SHOWN, Trace, thin
from halfcell.results import read_only
from halfcell.signals.branch import Branch, branch_of
from halfcell.signals.segments import Segments, find_segments
from halfcell.voltammetry.background import Subtracted, subtract_blank
from halfcell.voltammetry.cycles import StableCycle, stable_cycle
from halfcell.voltammetry.ohmic_drop import correct_ohmic_drop
from halfcell.voltammetry.overlapping import Overlapping, fit_overlapping
from halfcell.voltammetry.peak import Peak, measure_peak
from halfcell.voltammetry.response import Response, classify_response
from halfcell.voltammetry.scan_rate_check import RateCheck, check_scan_rate

if TYPE_CHECKING:
    from halfcell.recording import Recording
    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BranchFit:
    """What was found on one branch. ``refused`` says why there is no response or no peak."""

    direction: int
    response: Response | None
    peak: Peak | None
    refused: str
    tail: bool
    """The current never reaches this direction: what is seen is the other direction's tail."""
    sample: Trace
    blank: Trace | None
    difference: Trace | None
    note: str
    overlapping: Overlapping | None = None
    """Several peaks fitted together, where settings ask for it."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Voltammogram:
    """One record analysed."""

    rate: RateCheck
    cycle: StableCycle
    cycles: int
    first_direction: int
    quiet: int
    stair: int
    missing: int
    fits: tuple[BranchFit, ...]
    raw: Trace
    raw_blank: Trace | None
    assumed: tuple[str, ...]

    def along(self, direction: int) -> BranchFit | None:
        """The fit of one direction."""
        return next((f for f in self.fits if f.direction == direction), None)


def fit_voltammogram(*records: Recording, **inputs: Any) -> Voltammogram:
    """Analyse a record, the second being its blank where there is one.

    ``inputs``: stated_rate, blank_rate, cycle, directions, baseline, windows, peak_window, level,
    temperature, resistance.
    """
    sample, blank = records[0], records[1] if len(records) > 1 else None
    found = sweeps(sample)
    rate = check_scan_rate(found.scan_rate, inputs.get("stated_rate"))
    chosen = cycle_used(sample, found, inputs.get("cycle"))
    other = None if blank is None else sweeps(blank)
    blank_rate = (
        math.nan if other is None else check_scan_rate(other.scan_rate, inputs.get("blank_rate")).used
    )
    fits = []
    resistance = inputs.get("resistance") or 0.0
    for direction in inputs["directions"]:
        branch = branch_in(sample, found, direction, chosen.cycle, resistance)
        if branch is None:
            continue
        under = None
        if blank is not None and other is not None:
            last = cycle_used(blank, other, None).cycle
            under = branch_in(blank, other, direction, min(chosen.cycle, last), resistance)
        fits.append(_fit(branch, under, rate.used, blank_rate, inputs))
    if not fits:
        raise MethodError(f"No sweep in the direction asked for was found in {found.cycles} cycles.")
    return Voltammogram(
        rate=rate,
        cycle=chosen,
        cycles=found.cycles,
        first_direction=found.segments[0].direction,
        quiet=found.quiet,
        stair=found.stair,
        missing=found.missing,
        fits=tuple(fits),
        raw=_of_cycle(sample, found, chosen.cycle),
        raw_blank=None
        if blank is None or other is None
        else _of_cycle(blank, other, min(chosen.cycle, other.cycles)),
        assumed=sample.assumed,
    )


def sweeps(record: Recording) -> Segments:
    """The segments of a recording; MethodError when it holds no potential."""
    if record.potential is None:
        raise MethodError(
            "The file holds no potential, which a voltammogram needs; name its column under [readers] in study.toml."
        )
    return find_segments(record.potential, record.time, record.cycle)


def branch_in(
    record: Recording, found: Segments, direction: int, cycle: int, resistance: float = 0.0
) -> Branch | None:
    """One branch of one cycle, or None; the nearest cycle that has it whole. I·R is taken off for a ``resistance`` in ohm."""
    segment = found.branch(direction, cycle)
    if segment is None:
        others = found.along(direction)
        if not others:
            return None
        segment = min(others, key=lambda s: (abs(s.cycle - cycle), -s.span))
    assert record.potential is not None
    e, i = record.potential[segment.slice], record.current[segment.slice]
    if resistance > 0:
        e = correct_ohmic_drop(e, i, resistance=resistance).potential
    return branch_of(e, i, direction=direction)


def cycle_used(record: Recording, found: Segments, named: int | None) -> StableCycle:
    """The cycle a person named, or else the stable one. Raises MethodError for one that is not there."""
    if named is not None:
        if named > found.cycles:
            raise MethodError(f"Cycle {named} was asked for; the record has {found.cycles}.")
        return StableCycle(
            cycle=named,
            changes=read_only([]),
            drift=_no_drift(),
            left_out=(),
            note=f"cycle {named}, as asked for",
        )
    first = found.segments[0].direction
    numbers = range(1, found.cycles + 1)
    back = {n: found.branch(-first, n) for n in numbers}
    widest = max((b.span for b in back.values() if b is not None), default=0.0)
    cut = {n for n, b in back.items() if widest and (b is None or b.span < 0.9 * widest)}
    if len(cut) == found.cycles:
        cut = set()
    return stable_cycle([(n, None if n in cut else _whole(record, found, first, n)) for n in numbers])


def _no_drift() -> Any:
    from halfcell.results import unknown

    return unknown("the cycle was named by hand")


def _whole(record: Recording, found: Segments, direction: int, cycle: int) -> Branch | None:
    segment = found.branch(direction, cycle)
    if segment is None or segment.stop - segment.start < 12 or record.potential is None:
        return None
    return branch_of(record.potential[segment.slice], record.current[segment.slice], direction=direction)


def _fit(
    branch: Branch, under: Branch | None, rate: float, blank_rate: float, inputs: Mapping[str, Any]
) -> BranchFit:
    taken: Subtracted | None = None
    note = ""
    if under is not None:
        try:
            taken = subtract_blank(branch, under, rates=(rate, blank_rate))
            note = taken.note
        except MethodError as error:
            note = f"no blank was taken off: {error}"
    e = branch.potential if taken is None else taken.potential
    y = branch.current if taken is None else taken.difference
    sign = _sign_of_pulses(y) if inputs.get("pulsed") else branch.direction
    response, peak, refused = _found(e, y, sign, rate, taken, inputs)
    together = None
    if inputs.get("peaks", 1) > 1 and response is not None and response.word != "none":
        try:
            shape = inputs.get("peak_shape", "diffusion")
            together = fit_overlapping(
                e,
                y,
                sign=sign,
                count=inputs["peaks"],
                shape=shape,
                temperature=inputs.get("temperature", 298.15),
            )
        except MethodError as error:
            note = f"{note} overlapping peaks were not fitted: {error}".strip()
    return BranchFit(
        overlapping=together,
        direction=branch.direction,
        response=response,
        peak=peak,
        refused=refused,
        tail=response is not None and _is_tail(e, y, sign, response),
        sample=thin(branch.potential, branch.current),
        blank=None if taken is None else thin(taken.potential, taken.blank),
        difference=None if taken is None else thin(taken.potential, taken.difference),
        note=note,
    )


def _found(
    e: FloatArray,
    y: FloatArray,
    direction: int,
    rate: float,
    taken: Subtracted | None,
    inputs: Mapping[str, Any],
) -> tuple[Response | None, Peak | None, str]:
    window = inputs.get("peak_window")
    try:
        response = classify_response(
            e,
            y,
            sign=direction,
            level=inputs.get("level", 0.95),
            temperature=inputs.get("temperature", 298.15),
            window=window,
            blank=None if taken is None else taken.blank,
        )
    except MethodError as error:
        return None, None, str(error)
    if response.word != "peak":
        return (
            response,
            None,
            f"the response is a {response.word}, not a peak"
            if response.word == "wave"
            else "no response was found",
        )
    try:
        peak = peak_on(e, y, direction, rate, response, taken is not None, inputs)
    except MethodError as error:
        return response, None, str(error)
    return response, peak, ""


def peak_on(
    e: FloatArray,
    y: FloatArray,
    direction: int,
    rate: float,
    response: Response,
    subtracted: bool,
    inputs: Mapping[str, Any],
) -> Peak:
    """The peak of a branch that is known to have one. Raises MethodError as ``measure_peak``."""
    return measure_peak(
        e,
        y,
        sign=direction,
        rate=rate,
        near=(response.at, response.half),
        window=inputs.get("peak_window"),
        baseline=inputs.get("baseline", "auto"),
        baseline_windows=inputs.get("windows"),
        subtracted=subtracted,
        returns=response.definition.value > 0.85,
    )


def _sign_of_pulses(y: FloatArray) -> int:
    """+1 or -1: a net current's sign is the instrument's own; the larger excursion from the middle decides."""
    smooth = np.convolve(y, np.ones(5) / 5, mode="valid")
    middle = float(np.median(smooth))
    return 1 if float(smooth.max()) - middle >= middle - float(smooth.min()) else -1


def _is_tail(e: FloatArray, y: FloatArray, direction: int, response: Response) -> bool:
    near = np.abs(e - response.at) <= max(abs(response.at - response.half), 0.01)
    return bool(float(np.mean(direction * y[near])) < 0.3 * response.height.value) if near.any() else False


def _of_cycle(record: Recording, found: Segments, cycle: int) -> Trace:
    parts = [s for s in found.segments if s.cycle == cycle] or list(found.segments)
    assert record.potential is not None
    a, b = parts[0].start, parts[-1].stop
    return thin(record.potential[a:b], record.current[a:b], 2 * SHOWN)
