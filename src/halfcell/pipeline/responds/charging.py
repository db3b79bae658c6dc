"""The blanks of one electrode: capacitance and potential window, done in a worker."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from halfcell.errors import MethodError
from halfcell.pipeline.responds.traces import Trace, thin
from halfcell.pipeline.responds.voltammogram import branch_in, sweeps
from halfcell.voltammetry.capacitance import Capacitance, Loop, measure_capacitance
from halfcell.voltammetry.cycles import stable_cycle
from halfcell.voltammetry.potential_window import Window, potential_window
from halfcell.voltammetry.scan_rate_check import check_scan_rate

if TYPE_CHECKING:
    from halfcell.recording import Recording


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Charging:
    """Capacitance (or why not) and window of an electrode's blanks, with the traces (up, down) of each."""

    capacitance: Capacitance | None
    refused: str
    window: Window | None
    rates: tuple[float, ...]
    traces: tuple[Trace, ...]
    notes: tuple[str, ...]


def fit_charging(*records: Recording, **inputs: Any) -> Charging:
    """``inputs``: stated_rates, at, area, limit, level."""
    loops, notes = [], []
    for record, stated in zip(records, inputs["stated_rates"], strict=True):
        found = sweeps(record)
        rate = check_scan_rate(found.scan_rate, stated)
        if rate.disagrees:
            notes.append(f"{record.file}: {rate.note}")
        if not rate.used > 0:
            notes.append(f"{record.file}: left out, {rate.note}")
            continue
        first = found.segments[0].direction
        cycle = stable_cycle(
            [(n, branch_in(record, found, first, n)) for n in range(1, found.cycles + 1)]
        ).cycle
        up, down = branch_in(record, found, 1, cycle), branch_in(record, found, -1, cycle)
        if up is None or down is None:
            notes.append(f"{record.file}: left out, it does not sweep both ways")
            continue
        loops.append(Loop(up=up, down=down, rate=rate.used))
    if not loops:
        raise MethodError("No blank sweeps both ways at a known scan rate. " + " ".join(notes))
    capacitance, refused = None, ""
    try:
        capacitance = measure_capacitance(loops, at=inputs.get("at"), level=inputs.get("level", 0.95))
    except MethodError as error:
        refused = str(error)
    slowest = min(loops, key=lambda one: one.rate)
    charging = capacitance.capacitance.value * slowest.rate if capacitance else 0.0
    window = potential_window(
        slowest.up, slowest.down, area=inputs["area"], limit=inputs["limit"], charging=charging
    )
    notes += [
        f"no end of the potential window here: {end.why}" for end in (window.low, window.high) if end.why
    ]
    traces = [thin(b.potential, b.current) for one in loops for b in (one.up, one.down)]
    return Charging(
        capacitance=capacitance,
        refused=refused,
        window=window,
        rates=tuple(one.rate for one in loops),
        traces=tuple(traces),
        notes=tuple(notes),
    )
