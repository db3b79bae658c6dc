"""One part of the report a question: adding the file ``<place>.py`` with ``part`` registers it.

part(analysis: Analysis) -> Part
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from importlib import import_module
from pkgutil import iter_modules
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from halfcell.pipeline.outcome import Analysis
    from halfcell.report.blocks import Part

    Author = Callable[[Analysis], Part]

__all__ = ["ORDER", "PARTS"]

ORDER = ("chooses", "made", "responds", "quantifies", "confounds", "compares", "explains", "plans")
"""The choice first, then the evidence in the order of the questions."""


class _Parts(Mapping[str, "Author"]):
    """Name of a part to the function that writes it, in the order of the report."""

    def __iter__(self) -> Iterator[str]:
        found = {module.name for module in iter_modules(__path__) if not module.name.startswith("_")}
        yield from (name for name in ORDER if name in found)
        yield from sorted(found - set(ORDER))

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def __getitem__(self, name: str) -> Author:
        if name not in set(self):
            raise KeyError(name)
        author: Author = import_module(f"{__name__}.{name}").part
        return author


PARTS: Mapping[str, Author] = _Parts()
