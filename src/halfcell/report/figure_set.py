"""All figures of a study as files, for a manuscript or a talk."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from halfcell.errors import Problem
from halfcell.report.bundle import put, target_folder
from halfcell.report.drawn import study_colours
from halfcell.report.figures.files import Format, check_form, figure_file
from halfcell.report.html import anchor

if TYPE_CHECKING:
    from halfcell.pipeline.outcome import Analysis, Exhibit

__all__ = ["FigureSet", "save_figures"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FigureSet:
    """The files written, and the figures that could not be drawn."""

    files: tuple[Path, ...]
    problems: tuple[Problem, ...] = ()


def save_figures(
    analysis: Analysis,
    folder: str | Path | None = None,
    *,
    format: Format = "svg",  # noqa: A002 - the word people use
    width: float | None = None,
    dpi: float = 300.0,
    progress: Callable[[str, int, int], None] | None = None,
) -> FigureSet:
    """Every exhibit of a study as a file in ``figures`` under the report's folder.

    ``width`` in m, ``dpi`` for PNG and photographs. Raises ValueError for another format or width,
    HalfcellError for a folder that cannot be written to.
    """
    check_form(format, width)
    target = target_folder(analysis, folder) / "figures"
    target.mkdir(exist_ok=True)
    shades, written, problems = study_colours(analysis), [], []
    for i, exhibit in enumerate(analysis.exhibits):
        if progress is not None:
            progress("Saving figures", i, len(analysis.exhibits))
        try:
            data = figure_file(exhibit, shades, format=format, width=width, dpi=dpi)
        except Exception as error:  # noqa: BLE001 - one figure that fails is a problem, not the end of the others
            what = f"The figure {exhibit.title!r} could not be drawn ({type(error).__name__}: {error})."
            problems.append(Problem(file="figures", what=what, severity="warning"))
            continue
        written.append(target / f"{file_name(exhibit)}.{format}")
        put(written[-1], data)
    return FigureSet(files=tuple(written), problems=tuple(problems))


def file_name(exhibit: Exhibit) -> str:
    """A name that says what the figure is and is its own, on every system."""
    mark = hashlib.blake2b(f"{exhibit.kind} {exhibit.key}".encode(), digest_size=3).hexdigest()
    return f"{anchor(exhibit.place, exhibit.kind, exhibit.electrode or exhibit.group)[:60]}-{mark}"
