"""One drawing a kind of exhibit: adding the file ``<kind>.py`` with ``draw`` registers it.

    draw(exhibit: Exhibit, colours: Mapping[str, str]) -> matplotlib.figure.Figure

``colours`` maps a group to its colour (style.colours). The report and the app draw the same exhibits.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from importlib import import_module
from pkgutil import iter_modules
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from halfcell.pipeline.outcome import Exhibit

    Drawing = Callable[[Exhibit, Mapping[str, str]], Figure]

__all__ = ["DRAWINGS"]

_NOT_A_KIND = {"files", "style", "svg"}


class _Drawings(Mapping[str, "Drawing"]):
    """Kind of exhibit to its drawing; a drawing's module is imported when it is first used."""

    def __iter__(self) -> Iterator[str]:
        names = (module.name for module in iter_modules(__path__))
        return iter(sorted(n for n in names if not n.startswith("_") and n not in _NOT_A_KIND))

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def __getitem__(self, kind: str) -> Drawing:
        name = kind.replace(" ", "_").replace("-", "_")
        if name not in set(self):
            raise KeyError(kind)
        draw: Drawing = import_module(f"{__name__}.{name}").draw
        return draw


DRAWINGS: Mapping[str, Drawing] = _Drawings()
