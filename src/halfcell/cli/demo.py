"""halfcell demo: an invented study, written and analysed."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from halfcell.cli._terminal import Cores, plain, progress, tell_problems


def command(
    folder: Annotated[Path, typer.Argument(help="Where to write the demo study.", metavar="DIR")],
    small: Annotated[bool, typer.Option("--small", help="Two metals and the bare substrate only.")] = False,
    seed: Annotated[int, typer.Option(help="Seed of the invented noise.", min=0)] = 20250101,
    truth: Annotated[
        Path | None, typer.Option(help="Also write what is true of the study, as JSON, to this file.")
    ] = None,
    cores: Cores = None,
) -> None:
    """Write the demo study, analyse it, and print the ranking and the report's path.

    Nitrite in aquaculture water on four metals: all of it is invented, and the folder says so. A
    folder that holds the demo study already is analysed again as it is.

    Example:

        halfcell demo demo
    """
    from halfcell.cli.choose import show
    from halfcell.pipeline import analyze
    from halfcell.report.bundle import write_report

    _written(folder, small=small, seed=seed, truth=truth)
    with progress() as moved:
        analysis = analyze(folder, cores=cores, progress=moved)
        report = write_report(analysis, cores=cores, progress=moved)
    tell_problems(analysis.problems + report.problems)
    plain("The data of this study are invented.")
    plain()
    if analysis.choice is not None:
        show(analysis.choice)
    plain(f"Report: {report.page}")


def _written(folder: Path, *, small: bool, seed: int, truth: Path | None) -> None:
    from halfcell.demo import write
    from halfcell.demo.folder import FIRST_LINE

    study = folder / "study.toml"
    if (
        truth is None
        and study.is_file()
        and study.read_text(encoding="utf-8", errors="replace").startswith(FIRST_LINE)
    ):
        plain(f"{folder} holds the demo study already; it is analysed as it is.", error=True)
        return
    known = write(folder, small=small, seed=seed, truth=truth)
    plain(
        f"{folder}: {known.files} invented records and micrographs of {len(known.electrodes)} electrodes.",
        error=True,
    )
