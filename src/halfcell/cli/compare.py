"""halfcell compare: are the differences between groups real?"""

from __future__ import annotations

import json as json_text
from typing import TYPE_CHECKING, Annotated

import typer

from halfcell.cli._terminal import Cores, Folder, analyzed, console, plain, tell_problems

if TYPE_CHECKING:
    from halfcell.comparison.compare import Comparison
    from halfcell.pipeline import Analysis
    from halfcell.report.blocks import Table as Shown


def command(
    folder: Folder,
    finding: Annotated[
        str, typer.Argument(help="Name of the finding; left out: those of the study.", metavar="[FINDING]")
    ] = "",
    by: Annotated[
        list[str] | None,
        typer.Option(
            help="Electrode attribute that makes the groups: material, recipe, batch, a step … Repeat it for several at once."
        ),
    ] = None,
    condition: Annotated[
        str, typer.Option(help="Which condition, where there are several; a part of its words is enough.")
    ] = "",
    role: Annotated[
        list[str] | None,
        typer.Option(help="Roles of the electrodes compared (candidate, bare, control, bulk)."),
    ] = None,
    reference: Annotated[str, typer.Option(help="Compare only with this group.")] = "",
    margin: Annotated[
        str, typer.Option(help='The difference that would not matter, such as "5 %" or "2 umol/L".')
    ] = "",
    json: Annotated[bool, typer.Option("--json", help="Print one JSON object and nothing else.")] = False,
    cores: Cores = None,
) -> None:
    """Compare groups of electrodes: means, differences with simultaneous intervals, letters.

    Groups that share a letter are not shown to differ. That is not the same as being the same: for that
    state a margin.

    Example:

        halfcell compare my-study sensitivity

        halfcell compare my-study sensitivity --by batch --margin "5 %"

        halfcell compare my-study peak_current --by seeding --by plating
    """
    analysis = analyzed(folder, cores)
    if not finding and (by or condition or role or reference or margin):
        raise typer.BadParameter("name the finding to compare in another way than the study says")
    if by and len(by) > 1:
        _together(analysis, finding, tuple(by), condition, tuple(role or ()), json)
        return
    one = by[0] if by else ""
    made = (
        analysis.comparisons
        if not finding
        else _asked(analysis, finding, one, condition, tuple(role or ()), reference, margin)
    )
    if json:
        from halfcell.pipeline.decides.tables import comparison_json

        plain(
            json_text.dumps(
                {"format": 1, "comparisons": [comparison_json(c) for c in made]}, ensure_ascii=False
            )
        )
    else:
        for c in made:
            show(c)
        if not made:
            plain("There is nothing to compare: no finding has values for two or more groups.")
    tell_problems(analysis.problems)


def _asked(
    analysis: Analysis,
    finding: str,
    by: str,
    condition: str,
    roles: tuple[str, ...],
    reference: str,
    margin: str,
) -> tuple[Comparison, ...]:
    from halfcell.pipeline.decides.comparing import compared

    return compared(
        analysis.study,
        analysis.findings,
        finding,
        by=by,
        condition=condition,
        roles=roles,
        reference=reference,
        margin=margin,
        exhibits=analysis.exhibits,
    )


def _together(
    analysis: Analysis,
    finding: str,
    by: tuple[str, ...],
    condition: str,
    roles: tuple[str, ...],
    as_json: bool,
) -> None:
    """Several attributes at once."""
    from halfcell.pipeline.decides.comparing import compared_factors
    from halfcell.pipeline.decides.tables import factors_json
    from halfcell.report.parts.compares import factor_tables

    made = compared_factors(analysis.study, analysis.findings, finding, by, condition=condition, roles=roles)
    if as_json:
        plain(json_text.dumps({"format": 1, "factors": factors_json(made)}, ensure_ascii=False))
        return
    for table in factor_tables(made):
        _print(table)
    for note in made.notes:
        plain(f"Note: {note}.")


def show(c: Comparison) -> None:
    """One comparison on a terminal."""
    from halfcell.report.parts.compares import told

    whole = told(c)
    plain(whole.title)
    for table in whole.tables:
        _print(table)
    for text in whole.words:
        plain(text)
    plain()


def _print(shown: Shown) -> None:
    from rich import box
    from rich.table import Table
    from rich.text import Text

    table = Table(title=shown.title, title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False)
    for head in shown.head:
        table.add_column(head, overflow="fold")
    for row in shown.rows:
        table.add_row(*(Text(cell) for cell in row))
    console().print(table)
