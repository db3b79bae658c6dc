"""The levels in a recording: what was added, by which log, and over which readings each current was taken."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from halfcell.units import factor, number, pretty

if TYPE_CHECKING:
    from halfcell.pipeline.outcome import Analysis, Exhibit
    from halfcell.study.model import Run


def log_lines(analysis: Analysis, run: Run) -> list[tuple[str, str]]:
    """The addition log of a run with its sha256, and the volume it started from."""
    if not run.log:
        return []
    sha256 = analysis.files.get(run.log, "") or "not known"
    lines = [("additions", f"{run.log}, sha256 {sha256}")]
    volume = analysis.study.file.analysis.amperometry.start_volume
    if volume is not None:
        lines.append(("start volume", f"{number(volume * 1e6)} mL"))
    return lines


def level_lines(analysis: Analysis, file: str) -> tuple[tuple[str, str], ...]:
    """(level, current and readings) of each level in a recording, as the calibration used it."""
    return tuple(line for e in analysis.exhibits if file in e.recordings for line in _levels(e))


def _levels(exhibit: Exhibit) -> Iterator[tuple[str, str]]:
    data = exhibit.data
    if exhibit.kind == "additions trace":
        levels = np.asarray(data["levels"], dtype=float)
        ends = zip(data["plateau_start"], data["plateau_end"], data["plateau"], strict=True)
        for k, (start, end, current) in enumerate(ends):
            level = _level(float(levels[k])) if k < len(levels) else f"level {k + 1}"
            yield level, f"{_current(float(current))}, readings from {start:.4g} to {end:.4g} s"
    elif exhibit.kind == "sampled steps":
        start, end = data["window"]
        yield (
            _level(float(data["level"])),
            (f"{_current(float(data['sampled']))}, readings from {start:.4g} to {end:.4g} s after the step"),
        )


def _level(value: float) -> str:
    """A concentration in mol/m^3 as text."""
    return f"{number(value * factor('mol/m^3', 'umol/L'))} {pretty('umol/L')}"


def _current(value: float) -> str:
    return f"{number(value * factor('A', 'uA'), digits=5)} {pretty('uA')}"
