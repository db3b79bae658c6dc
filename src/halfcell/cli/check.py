"""halfcell check: everything that is wrong with a study folder, at once."""

from __future__ import annotations

from pathlib import Path

import typer


def check(
    study: Path = typer.Argument(..., help="The study folder."),
    json: bool = typer.Option(False, "--json", help="Print one JSON object for machines."),
    strict: bool = typer.Option(False, "--strict", help="Warnings count as errors for the exit code."),
) -> int:
    """List every mistake of a study folder: file, key or row, what is wrong, a correct example.

    Ends with exit code 1 when there is an error. Nothing is executed or written.

    Example: halfcell check my-study
    """
    from dataclasses import asdict

    from halfcell.cli.output import as_json
    from halfcell.study.load import check as check_folder
    from halfcell.study.words import count

    problems = check_folder(study)
    errors = [p for p in problems if p.severity == "error"]
    warnings = [p for p in problems if p.severity != "error"]
    if json:
        as_json({"format": 1, "problems": [asdict(p) for p in problems]})
    else:
        for kind, listed in (("error", errors), ("warning", warnings)):
            for problem in listed:
                where = ", ".join(part for part in (problem.file, problem.place) if part)
                print(f"{kind}: {where}\n    {problem.what}")
                if problem.example:
                    print(f"    example: {problem.example}")
        said = f"{count(len(errors), 'error')}, {count(len(warnings), 'warning')}" if problems else "nothing is wrong"
        print(f"{study}: {said}.")
    return 1 if errors or (strict and warnings) else 0
