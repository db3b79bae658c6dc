"""halfcell report: the report of a study as files."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from halfcell.cli._terminal import Cores, Folder, plain, progress, tell_problems


def command(
    folder: Folder,
    to: Annotated[
        Path | None,
        typer.Option("--folder", help="Where to write; by default the folder `report` of the study."),
    ] = None,
    part: Annotated[
        list[str] | None, typer.Option(help="Only this part (chooses, made, responds …); may be repeated.")
    ] = None,
    figures: Annotated[int, typer.Option(help="At most so many figures.", min=0)] = 60,
    show: Annotated[bool, typer.Option("--open", help="Open the page in the browser.")] = False,
    cores: Cores = None,
) -> None:
    """Write the report of a study: an HTML page, a PDF, the findings as CSV, JSON and XLSX, the methods.

    Only the report's own files are replaced; raw files are never written to.

    Example:

        halfcell report my-study --open

        halfcell report my-study --folder for-supervisor --part chooses --part methods
    """
    from halfcell.pipeline import analyze
    from halfcell.report.bundle import write_report
    from halfcell.report.content import part_names

    unknown = [name for name in part or () if name.lower() not in part_names()]
    if unknown:
        raise typer.BadParameter(f"there is no part {unknown[0]!r}; the parts are {', '.join(part_names())}")
    with progress() as moved:
        analysis = analyze(folder, cores=cores, progress=moved)
        written = write_report(analysis, to, part, figures=figures, cores=cores, progress=moved)
    tell_problems(analysis.problems + written.problems)
    for file in written.files:
        plain(str(file))
    if show:
        typer.launch(written.page.resolve().as_uri())
