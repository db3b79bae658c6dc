"""halfcell: from raw electroanalytical files to a defended choice of electrode.

>>> import halfcell
>>> study = halfcell.open_study("my-study")      # doctest: +SKIP
>>> analysis = halfcell.analyze(study)           # doctest: +SKIP
>>> analysis.findings.frame()                    # doctest: +SKIP
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from halfcell._version import __version__

if TYPE_CHECKING:
    from halfcell.pipeline import analyze
    from halfcell.study import open_study

__all__ = ["__version__", "analyze", "open_study"]


def __getattr__(name: str) -> Any:
    # Nothing heavy at import: numpy and the rest load when first used.
    if name == "open_study":
        from halfcell.study import open_study

        return open_study
    if name == "analyze":
        from halfcell.pipeline import analyze

        return analyze
    raise AttributeError(f"module 'halfcell' has no attribute {name!r}; it has {', '.join(__all__)}.")


def __dir__() -> list[str]:
    return sorted(__all__)
