"""What a person can change in a place, as data for the page's elements."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from halfcell.pipeline import Analysis


def editors(analysis: Analysis, place: str) -> dict[str, Any]:
    """The tools of a place by name; an empty dictionary where there is nothing to change."""
    return {name: data for name, tool in TOOLS.get(place, {}).items() if (data := tool(analysis)) is not None}


def _weigh_wants(analysis: Analysis) -> dict[str, Any] | None:
    from halfcell.app.whatif import as_data, sliders

    if analysis.choice is None:
        return None
    return sliders(analysis) | {"choice": as_data(analysis.choice)}


def _baseline_editor(analysis: Analysis) -> dict[str, Any] | None:
    study = analysis.study
    shown = [e for e in analysis.exhibits if e.kind == "voltammogram" and "peak_potential" in e.data]
    decided = {a.file for a in study.adjustments if a.kind == "baseline window"}
    records = [
        {
            "file": e.recordings[0],
            "title": e.title,
            "group": e.group,
            "condition": e.condition,
            "direction": int(e.data["direction"]),
            "decided": e.recordings[0] in decided,
        }
        for e in shown
    ]
    return {"records": records} if records else None


def _overlay_view(analysis: Analysis) -> dict[str, Any] | None:
    study = analysis.study
    kinds = {"cyclic voltammogram", "linear sweep", "differential pulse", "square wave"}
    records = [
        {
            "number": i,
            "file": run.file,
            "electrode": run.electrode,
            "group": study.group(run.electrode),
            "solution": run.solution + (f", {run.concentration:.4g} mM" if run.concentration else ", blank"),
            "rate": f"{run.scan_rate * 1e3:.4g} mV/s" if run.scan_rate else "rate not stated",
        }
        for i, run in enumerate(study.runs)
        if run.technique in kinds
    ]
    from halfcell.report.drawn import study_colours

    return {"records": records, "colours": study_colours(analysis)} if records else None


TOOLS: dict[str, dict[str, Callable[[Analysis], dict[str, Any] | None]]] = {
    "responds": {"overlay-view": _overlay_view, "baseline-editor": _baseline_editor},
    "chooses": {"weigh-wants": _weigh_wants},
}
"""Place to tool to the data it starts with; None leaves the tool out."""
