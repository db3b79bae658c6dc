"""The study folder: its model, its reading, its checking, and a person's decisions.

``open_study(folder)`` gives a ``Study``; format.md is the written format.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from halfcell.study.load import open_study
    from halfcell.study.study import Study

__all__ = ["Study", "open_study"]


def __getattr__(name: str) -> Any:
    if name == "open_study":
        from halfcell.study.load import open_study

        return open_study
    if name == "Study":
        from halfcell.study.study import Study

        return Study
    raise AttributeError(f"module 'halfcell.study' has no attribute {name!r}.")
