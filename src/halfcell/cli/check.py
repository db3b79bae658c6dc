"""halfcell check: everything that is wrong with a study folder, at once."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from halfcell.cli._terminal import Folder, plain, progress

if TYPE_CHECKING:
    from halfcell.errors import Problem


def command(
    folder: Folder,
    json: Annotated[bool, typer.Option("--json", help="Print one JSON object and nothing else.")] = False,
    strict: Annotated[bool, typer.Option("--strict", help="Warnings count for the exit code too.")] = False,
) -> None:
    """List every mistake of a study folder: file, key or row, what is wrong, a correct example.

    Ends with exit code 1 when there is an error. Nothing in the folder is executed or written.

    Example:

        halfcell check my-study
    """
    from dataclasses import asdict
    from json import dumps

    from halfcell.study.load import check

    with progress() as moved:
        problems = check(folder, moved)
    if json:
        plain(dumps({"format": 1, "problems": [asdict(p) for p in problems]}, ensure_ascii=False))
    else:
        _show(problems, str(folder))
    if any(p.severity == "error" or strict for p in problems):
        raise typer.Exit(1)


def _show(problems: tuple[Problem, ...], folder: str) -> None:
    from textwrap import indent

    from halfcell.study.words import count

    for problem in problems:
        where = ", ".join(part for part in (problem.file, problem.place) if part)
        plain(f"{problem.severity}: {where}")
        plain(f"    {problem.what}")
        if problem.lines:
            plain(indent(f"the lines in question:\n{problem.lines}", "    "))
        if problem.example:
            apart = "\n" if "\n" in problem.example else " "
            plain(indent(f"example:{apart}{problem.example}", "    "))
    errors = sum(p.severity == "error" for p in problems)
    found = (
        f"{count(errors, 'error')}, {count(len(problems) - errors, 'warning')}"
        if problems
        else "nothing is wrong"
    )
    plain(f"{folder}: {found}.")
