"""What a person can change in a place, as data for the page's elements."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from halfcell.pipeline import Analysis


def editors(analysis: Analysis, place: str) -> dict[str, Any]:
    """The tools of a place by name; an empty dictionary where there is nothing to change."""
    return {}
