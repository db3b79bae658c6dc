"""Baselines under the hand: a record prepared once, its peak found again on every move."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.app.traces import recording_of
from halfcell.errors import StudyError
from halfcell.units import with_uncertainty

if TYPE_CHECKING:
    from halfcell.pipeline.responds.pairing import Pair
    from halfcell.pipeline.responds.tried import Prepared
    from halfcell.study.adjustments import Adjustment
    from halfcell.study.study import Study
    from halfcell.voltammetry.peak import Peak

_KEEP = 24
SHOWN = 1200
"""Points of a curve sent to the page."""


@dataclass(slots=True)
class Prepareds:
    """The records prepared lately, by the folder's edition, file and direction."""

    _kept: OrderedDict[tuple[str, str, int], Prepared] = field(default_factory=OrderedDict)
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def of(self, study: Study, edition: str, file: str, direction: int) -> Prepared:
        """The record of a file. Raises HalfcellError where there is no peak in it."""
        key = (edition, file, direction)
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
        made = _prepared(study, pair_of(study, file), direction)
        with self._lock:
            self._kept[key] = made
            while len(self._kept) > _KEEP:
                self._kept.popitem(last=False)
        return made


def pair_of(study: Study, file: str) -> Pair:
    """A record with its blank. Raises StudyError for a file that is no record in analyte."""
    from halfcell.pipeline.responds.pairing import pairs

    found = next((p for p in pairs(study) if p.run.file == file), None)
    if found is None:
        raise StudyError(f"{file!r} is not a voltammogram in analyte of this study.")
    return found


def _prepared(study: Study, pair: Pair, direction: int) -> Prepared:
    from halfcell.cache import Cache
    from halfcell.pipeline.bench import Bench
    from halfcell.pipeline.loading import load
    from halfcell.pipeline.responds.records import settings_of
    from halfcell.pipeline.responds.tried import prepare
    from halfcell.pipeline.workers import Crew

    bench = Bench(study=study, crew=Crew(folder=study.folder, loader=load, hashes={}, cache=Cache(None)))
    records = tuple(recording_of(study, run) for run in (pair.run, pair.blank) if run is not None)
    return prepare(records, settings_of(bench, pair.run, pair.blank), direction)


def kept_by_hand(decisions: Iterable[Adjustment]) -> dict[str, str]:
    """The baseline windows a person kept, by file, in words."""
    return {a.file: in_words(a.windows) for a in decisions if a.kind == "baseline window"}


def in_words(windows: Iterable[tuple[float, float]]) -> str:
    """Windows in V as a person reads them: "0.12 to 0.2 V and 0.5 to 0.6 V"."""
    return " and ".join(f"{min(w):.6g} to {max(w):.6g} V" for w in windows)


def shown(prepared: Prepared, peak: Peak) -> dict[str, Any]:
    """A peak with its curve and baseline for the page: V and A, and the numbers as they are printed."""
    step = max(1, len(peak.axis) // SHOWN)
    axis = np.asarray(peak.axis)[::step]
    return {
        "x": axis.tolist(),
        "y": np.asarray(peak.data)[::step].tolist(),
        "baseline": np.asarray(peak.baseline.values)[::step].tolist(),
        "windows": [list(w) for w in peak.baseline.windows],
        "at": peak.potential.value,
        "height": peak.current.value,
        "kind": peak.baseline.kind,
        "subtracted": prepared.subtracted,
        "numbers": {
            "Peak potential": with_uncertainty(peak.potential.value, peak.potential.u, "V"),
            "Peak current": with_uncertainty(peak.current.value * 1e6, peak.current.u * 1e6, "uA"),
            "Half-peak potential": with_uncertainty(peak.half_potential.value, peak.half_potential.u, "V"),
            "Signal to noise": with_uncertainty(peak.signal_to_noise.value, peak.signal_to_noise.u),
        },
    }
