"""The samples a number rests on, as stretches of the trace to shade: from the exhibits, never found anew."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from halfcell.finding import Finding
    from halfcell.pipeline import Analysis, Exhibit

MOST = 60
"""Stretches drawn on one trace."""


def marks(analysis: Analysis, finding: Finding, file: str) -> list[dict[str, Any]]:
    """Stretches {"from", "to", "what"} along the trace of a file (V or s), for a finding that rests on it.

    A stretch of no length is a line. Empty where no exhibit of this record shows which samples were used.
    """
    found: list[dict[str, Any]] = []
    for exhibit in analysis.exhibits:
        if exhibit.recordings[:1] != (file,) or exhibit.electrode not in ("", finding.electrode):
            continue
        read = _READ.get(exhibit.kind)
        found += read(exhibit, finding) if read else []
    good = [m for m in found if math.isfinite(m["from"]) and math.isfinite(m["to"])]
    return list({(m["from"], m["to"], m["what"]): m for m in good}.values())[:MOST]


def _mark(start: float, end: float, what: str) -> dict[str, Any]:
    return {"from": float(start), "to": float(end), "what": what}


def _voltammogram(exhibit: Exhibit, finding: Finding) -> list[dict[str, Any]]:
    if finding.condition and finding.condition != exhibit.condition:
        return []
    data = exhibit.data
    out = [_mark(w[0], w[1], "baseline") for w in data.get("baseline_windows", ()) if len(w) == 2]
    if "peak_potential" in data:
        out.append(_mark(data["peak_potential"], data["peak_potential"], "peak"))
    return out


def _additions(exhibit: Exhibit, _finding: Finding) -> list[dict[str, Any]]:
    data = exhibit.data
    return [_mark(a, b, "plateau") for a, b in zip(data["plateau_start"], data["plateau_end"], strict=True)]


def _steps(exhibit: Exhibit, _finding: Finding) -> list[dict[str, Any]]:
    window = exhibit.data.get("window", ())
    return [_mark(window[0], window[1], "sampled")] if len(window) == 2 else []


_READ = {"voltammogram": _voltammogram, "additions trace": _additions, "sampled steps": _steps}
