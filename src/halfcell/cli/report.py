"""halfcell report: the report of a study as files."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, cast

import typer

from halfcell.cli._terminal import Cores, Folder, plain, progress, tell_problems
from halfcell.report.blocks import FIGURES

if TYPE_CHECKING:
    from halfcell.report.figures.files import Format


def command(
    folder: Folder,
    to: Annotated[
        Path | None,
        typer.Option("--folder", help="Where to write; by default the folder `report` of the study."),
    ] = None,
    part: Annotated[
        list[str] | None, typer.Option(help="Only this part (chooses, made, responds …); may be repeated.")
    ] = None,
    figures: Annotated[int, typer.Option(help="At most so many figures.", min=0)] = FIGURES,
    save_figures: Annotated[
        str, typer.Option(help="Save every figure as a file too: svg, pdf or png.", metavar="FORMAT")
    ] = "",
    width: Annotated[str, typer.Option(help='Width of saved figures, such as "85 mm".')] = "",
    dpi: Annotated[float, typer.Option(help="Resolution of saved PNG figures.", min=50, max=2400)] = 300,
    show: Annotated[bool, typer.Option("--open", help="Open the page in the browser.")] = False,
    cores: Cores = None,
) -> None:
    """Write the report of a study: an HTML page, a PDF, the findings as CSV, JSON and XLSX, the methods.

    Only the report's own files are replaced; raw files are never written to.

    Example:

        halfcell report my-study --open

        halfcell report my-study --folder for-supervisor --part chooses --part methods

        halfcell report my-study --save-figures pdf --width "85 mm"
    """
    from halfcell.pipeline import analyze
    from halfcell.report.bundle import write_report
    from halfcell.report.content import part_names
    from halfcell.report.figure_set import FigureSet
    from halfcell.report.figure_set import save_figures as save_all
    from halfcell.units import parse

    unknown = [name for name in part or () if name.lower() not in part_names()]
    if unknown:
        raise typer.BadParameter(f"there is no part {unknown[0]!r}; the parts are {', '.join(part_names())}")
    if save_figures not in {"", "svg", "pdf", "png"}:
        raise typer.BadParameter(f"figures are saved as svg, pdf or png, not {save_figures!r}")
    metres = parse(width, "m", example="85 mm") if width else None
    with progress() as moved:
        analysis = analyze(folder, cores=cores, progress=moved)
        written = write_report(analysis, to, part, figures=figures, cores=cores, progress=moved)
        saved = FigureSet(files=())
        if save_figures:
            form = cast("Format", save_figures)
            saved = save_all(analysis, to, format=form, width=metres, dpi=dpi, progress=moved)
    tell_problems(analysis.problems + written.problems + saved.problems)
    for file in written.files + saved.files:
        plain(str(file))
    if show:
        typer.launch(written.page.resolve().as_uri())
