"""halfcell choose: which electrode goes forward, and why."""

from __future__ import annotations

import json as json_text
from typing import TYPE_CHECKING, Annotated

import typer

from halfcell.cli._terminal import Cores, Folder, analyzed, console, plain, tell_problems
from halfcell.errors import HalfcellError

if TYPE_CHECKING:
    from halfcell.choice.choose import Choice


def command(
    folder: Folder,
    weight: Annotated[
        list[str] | None,
        typer.Option(help="Try another weight: finding=2 (repeatable).", metavar="FINDING=NUMBER"),
    ] = None,
    limit: Annotated[
        list[str] | None,
        typer.Option(
            help='Try another limit of a must: "finding=5 umol/L" (repeatable).', metavar="FINDING=QUANTITY"
        ),
    ] = None,
    confidence: Annotated[
        float | None, typer.Option(help="Try another confidence level, such as 0.9.")
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Print one JSON object and nothing else.")] = False,
    cores: Cores = None,
) -> None:
    """Choose: musts, ranking, the reasons in plain English, and what would change the verdict.

    Trying a weight, a limit or a confidence level changes nothing in the study.

    Example:

        halfcell choose my-study

        halfcell choose my-study --weight sensitivity=2 --confidence 0.9

        halfcell choose my-study --limit "limit_of_detection=5 umol/L"
    """
    if confidence is not None and not 0.5 < confidence < 1:
        raise typer.BadParameter(
            f"a confidence level lies between 0.5 and 1, such as 0.95; seen {confidence}"
        )
    weights = dict(_weight(text) for text in weight or ())
    analysis = analyzed(folder, cores)
    choice = analysis.choice
    limits = dict(_limit(text) for text in limit or ())
    if weights or limits or confidence is not None:
        from halfcell.pipeline.decides import choice_of

        choice = choice_of(analysis.study, analysis.findings, weights, confidence, limits)
    if choice is None:
        tell_problems(analysis.problems)
        asked = analysis.study.file.choice
        if asked.musts or asked.wants:
            raise HalfcellError("The criteria of study.toml could not be judged; the reason stands above.")
        raise HalfcellError(
            'There are no criteria to choose by. Write them in study.toml, as in [[choice.musts]] finding = "limit_of_detection", at_most = "5 umol/L".'
        )
    if json:
        from halfcell.pipeline.decides.tables import choice_json

        plain(json_text.dumps(choice_json(choice), ensure_ascii=False))
    else:
        show(choice)
    tell_problems(analysis.problems)


def _limit(text: str) -> tuple[str, str]:
    name, _, value = text.partition("=")
    if not (name.strip() and value.strip()):
        raise typer.BadParameter(f'write a limit as "finding=5 umol/L"; seen {text!r}')
    return name.strip(), value.strip()


def _weight(text: str) -> tuple[str, float]:
    name, _, value = text.partition("=")
    try:
        number = float(value)
    except ValueError:
        number = -1.0
    if not (name.strip() and 0 <= number < float("inf")):
        raise typer.BadParameter(f"write a weight as finding=2; seen {text!r}")
    return name.strip(), number


def show(choice: Choice) -> None:
    """The choice on a terminal: explanation, ranking, musts."""
    from rich import box
    from rich.table import Table
    from rich.text import Text

    from halfcell.choice.explanation import explain
    from halfcell.report.parts.chooses import tables_of

    for claim in explain(choice):
        console().print(Text(claim.text, style="bold" if claim.kind == "verdict" else ""))
    for shown in tables_of(choice):
        table = Table(title=shown.title, title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False)
        for head in shown.head:
            table.add_column(head, overflow="fold")
        for row in shown.rows:
            table.add_row(*(Text(cell) for cell in row))
        console().print(table)
    for note in choice.notes:
        plain(f"Note: {note}.")
