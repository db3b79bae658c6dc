"""halfcell intake: a new study folder from a folder of exports and images."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from halfcell.cli._terminal import plain


def command(
    source: Annotated[
        Path, typer.Argument(help="The folder that holds the exports and images.", metavar="SOURCE")
    ],
    study: Annotated[
        Path, typer.Argument(help="The study folder to make; it must not exist or be empty.", metavar="STUDY")
    ],
    json: Annotated[bool, typer.Option("--json", help="Print one JSON object and nothing else.")] = False,
) -> None:
    """Make a study folder from loose files: copies them, guesses what it can, asks for the rest.

    Every guess is marked where it stands; the raw files are copied and never altered.

    Example:

        halfcell intake exports my-study
    """
    from halfcell.study.intake import intake
    from halfcell.study.words import count

    made = intake(source, study)
    if json:
        from json import dumps

        files = [
            {"file": t.file, "copied_from": t.source, "sha256": t.sha256, "kind": t.kind} for t in made.files
        ]
        plain(
            dumps(
                {"format": 1, "files": files, "guesses": made.guesses, "questions": made.questions},
                ensure_ascii=False,
            )
        )
        return
    plain(f"{made.folder}: {count(len(made.files), 'file')} taken in.")
    plain("\nGuessed (marked in study.toml and in the column 'guessed' of runs.csv):")
    for guess in made.guesses:
        plain(f"  {guess}")
    plain("\nOnly you can know:")
    for question in made.questions:
        plain(f"  {question}")
    plain(f"\nNext: fill these in, then `halfcell check {made.folder}`.")
