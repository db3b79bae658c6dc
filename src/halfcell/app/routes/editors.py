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


TOOLS: dict[str, dict[str, Callable[[Analysis], dict[str, Any] | None]]] = {
    "chooses": {"weigh-wants": _weigh_wants}
}
"""Place to tool to the data it starts with; None leaves the tool out."""
