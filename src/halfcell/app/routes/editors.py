"""What a person can change in a place, as data for the page's elements."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any

from halfcell.app.baselines import kept_by_hand
from halfcell.app.watched import state_of_file
from halfcell.errors import HalfcellError
from halfcell.study.decisions import read_decisions
from halfcell.study.draft import ADJUSTMENTS
from halfcell.units import parse

if TYPE_CHECKING:
    from pathlib import Path

    from halfcell.pipeline import Analysis
    from halfcell.study import Study
    from halfcell.study.model import Electrode


def editors(analysis: Analysis, place: str) -> dict[str, Any]:
    """The tools of a place by name; an empty dictionary where there is nothing to change."""
    return {name: data for name, tool in TOOLS.get(place, {}).items() if (data := tool(analysis)) is not None}


def _weigh_wants(analysis: Analysis) -> dict[str, Any] | None:
    from halfcell.app.whatif import as_data, sliders

    if analysis.choice is None:
        return None
    return sliders(analysis.study) | {"choice": as_data(analysis.choice)}


def _baseline_editor(analysis: Analysis) -> dict[str, Any] | None:
    study = analysis.study
    shown = [e for e in analysis.exhibits if e.kind == "voltammogram" and "peak_potential" in e.data]
    try:  # as the file says it now; the numbers may still be those of the decisions before
        kept = kept_by_hand(read_decisions(study.folder).decisions)
    except HalfcellError:
        kept = kept_by_hand(study.adjustments)
    records = [
        {
            "file": e.recordings[0],
            "title": e.title,
            "group": e.group,
            "condition": e.condition,
            "direction": int(e.data["direction"]),
            "kept": kept.get(e.recordings[0], ""),
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
            "state": state_of_file(study.folder / run.file),
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


def _electrode_grid(analysis: Analysis) -> dict[str, Any] | None:
    return electrode_cells(analysis.study)


def electrode_cells(study: Study) -> dict[str, Any]:
    """The grid of electrodes: its columns, and the cells of each row."""
    made = study.file.electrodes
    factors = sorted({factor for electrode in made.values() for factor in electrode.factors})
    columns = [{"key": key, "label": key} for key in ("material", "role", "recipe", "batch", "area")]
    columns += [{"key": f"factor:{factor}", "label": factor} for factor in factors]
    rows = [{"electrode": name, "cells": cells_of(one, factors)} for name, one in made.items()]
    return {"columns": columns, "rows": rows}


def cells_of(one: Electrode, factors: Iterable[str]) -> dict[str, str]:
    """An electrode as the grid shows it."""
    cells = {"material": one.material, "role": one.role, "recipe": one.recipe, "batch": one.batch}
    cells["area"] = f"{one.area * 1e4:.6g} cm^2"
    return cells | {
        f"factor:{f}": ("yes" if one.factors[f] else "no") if f in one.factors else "" for f in factors
    }


def _particle_editor(analysis: Analysis) -> dict[str, Any] | None:
    shown = [e for e in analysis.exhibits if e.kind == "micrograph"]
    images = [{"file": e.recordings[0], "title": f"{e.electrode}: {e.recordings[0]}"} for e in shown]
    return {"images": images} if images else None


def _step_editor(analysis: Analysis) -> dict[str, Any] | None:
    shown = [e for e in analysis.exhibits if e.kind == "additions trace"]
    records = [{"file": e.recordings[0], "title": e.title} for e in shown]
    return {"records": records} if records else None


def _point_rejector(analysis: Analysis) -> dict[str, Any] | None:
    shown = [e for e in analysis.exhibits if e.kind == "calibration"]
    lines = [
        {
            "key": e.key,
            "electrode": e.electrode,
            "title": ", ".join(part for part in (e.title, e.condition) if part),
        }
        for e in sorted(shown, key=lambda e: not e.data["main"])
    ]
    rejected = _rejected(analysis.study.folder)
    return {"lines": lines, "rejected": rejected} if lines or rejected else None


def _rejected(folder: Path) -> list[dict[str, Any]]:
    """The points left out as the file says it now; "written" is the concentration as it stands there."""
    try:
        entries = tomllib.loads((folder / ADJUSTMENTS).read_text("utf-8")).get("adjustment", [])
        return [
            {"electrode": e["electrode"], "file": e["file"], "why": e["why"], "written": e["concentration"]}
            | {"concentration": parse(e["concentration"], "mol/m^3", example="1 mmol/L")}
            for e in entries
            if e["kind"] == "reject point"
        ]
    except (OSError, ValueError, LookupError, TypeError, AttributeError, HalfcellError):
        return []  # There are none, or the file has mistakes, which every page names.


TOOLS: dict[str, dict[str, Callable[[Analysis], dict[str, Any] | None]]] = {
    "made": {"electrode-grid": _electrode_grid, "particle-editor": _particle_editor},
    "responds": {"overlay-view": _overlay_view, "baseline-editor": _baseline_editor},
    "quantifies": {"step-editor": _step_editor, "point-rejector": _point_rejector},
    "chooses": {"weigh-wants": _weigh_wants},
}
"""Place to tool to the data it starts with; None leaves the tool out."""
