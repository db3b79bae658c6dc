"""halfcell analyze: every finding of a study."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Annotated

import typer

from halfcell.cli._terminal import Cores, Folder, analyzed, console, plain, tell_problems

if TYPE_CHECKING:
    from halfcell.finding import Finding
    from halfcell.pipeline import Analysis


def command(
    folder: Folder,
    json: Annotated[bool, typer.Option("--json", help="Print one JSON object and nothing else.")] = False,
    csv: Annotated[bool, typer.Option("--csv", help="Print the table as comma-separated text.")] = False,
    cores: Cores = None,
) -> None:
    """Analyze a study: all findings, each with its standard uncertainty and unit.

    What the analysis could not do is said on standard error; it never hides in the table.

    Example:

        halfcell analyze my-study

        halfcell analyze my-study --json > findings.json
    """
    if json and csv:
        raise typer.BadParameter("choose one of --json and --csv")
    analysis = analyzed(folder, cores)
    if json:
        plain(analysis.findings.json())
    elif csv:
        sys.stdout.write(analysis.findings.csv().replace("\r\n", "\n"))
    else:
        show(analysis)
    tell_problems(analysis.problems)


def show(analysis: Analysis) -> None:
    """The findings on a terminal, one table a question."""
    from halfcell.report.tables import PLACES, place_of

    out = console()
    for place in PLACES:
        rows = [f for f in analysis.findings if place_of(f) == place]
        if rows:
            out.print(_table(place, rows))
    plain(
        f"{len(analysis.findings)} findings. `halfcell why {analysis.study.folder} NAME ELECTRODE` shows where one comes from."
    )


def _table(place: str, rows: list[Finding]) -> object:
    from rich import box
    from rich.table import Table
    from rich.text import Text

    from halfcell.report.tables import shown_value
    from halfcell.vocabulary import TERMS

    table = Table(title=place, title_justify="left", title_style="bold", box=box.SIMPLE_HEAD, pad_edge=False)
    for head in ("finding", "electrode or group", "condition"):
        table.add_column(head, overflow="fold")
    table.add_column("value ± standard uncertainty", justify="right", overflow="fold")
    before = ""
    for f in rows:
        term = TERMS.get(f.name)
        label = term.label if term else f.name
        cells = (
            "" if label == before else f"{label}  ({f.name})",
            f.electrode or f.group,
            f.condition,
            shown_value(f),
        )
        table.add_row(*(Text(cell) for cell in cells))
        before = label
    return table
