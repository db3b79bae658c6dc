"""The demo study: nitrite in aquaculture water on four metals, invented and saying so.

``write(folder)`` makes the folder and returns what is true of it; the analysis never sees the truth.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from halfcell.demo.truth import ElectrodeTruth, Truth
    from halfcell.demo.writing import write

__all__ = ["ElectrodeTruth", "Truth", "write"]


def __getattr__(name: str) -> Any:
    # numpy and scipy load when the study is written, not when the package is imported.
    if name == "write":
        from halfcell.demo.writing import write

        return write
    if name in {"ElectrodeTruth", "Truth"}:
        from halfcell.demo import truth

        return getattr(truth, name)
    raise AttributeError(f"module 'halfcell.demo' has no attribute {name!r}.")
