"""halfcell add: further files for a study that exists."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from halfcell.cli._terminal import plain

if TYPE_CHECKING:
    from halfcell.study.adding import Added


def command(
    study: Annotated[Path, typer.Argument(help="The study folder to add to.", metavar="STUDY")],
    source: Annotated[
        Path, typer.Argument(help="The folder that holds the new files, or one file.", metavar="SOURCE")
    ],
    below: Annotated[
        str, typer.Option(help="A folder below data/ (and images/) for the new files.", metavar="NAME")
    ] = "",
    json: Annotated[bool, typer.Option("--json", help="Print one JSON object and nothing else.")] = False,
) -> None:
    """Add new files to a study: copies them, understands them by what the study knows, asks for the rest.

    Readers, electrodes and solutions that the study has are used; what is new is marked as guessed.
    Files whose content the study has already are left. The app can take the step back.

    Example:

        halfcell add my-study tuesday
    """
    from halfcell.app.kept import history_of
    from halfcell.errors import StudyError
    from halfcell.study.adding import add
    from halfcell.study.adding_files import PlaceTakenError
    from halfcell.study.atomic import written
    from halfcell.study.history import History

    try:
        with written() as writes:
            added = add(source, study, below=below)
    except PlaceTakenError as error:
        raise StudyError(f"{error} Such a folder is named by --below 2026-12-01.") from None
    folder = study.resolve()
    History(folder=folder, store=history_of(folder)).add(
        [one for one in writes if one.path.parent.resolve() == folder]
    )
    if json:
        _object(added)
        return
    _words(added)


def _object(added: Added) -> None:
    from json import dumps

    files = [
        {"file": t.file, "copied_from": t.source, "sha256": t.sha256, "kind": t.kind} for t in added.files
    ]
    left = [{"source": one.source, "equals": one.equals, "listed": one.listed} for one in added.left]
    told = {
        "format": 1,
        "files": files,
        "left": left,
        "electrodes": added.electrodes,
        "solutions": added.solutions,
        "guesses": added.guesses,
        "questions": added.questions,
    }
    plain(dumps(told, ensure_ascii=False))


def _words(added: Added) -> None:
    from halfcell.study.words import count, listed

    rows = f", {count(added.rows, 'row')} added to runs.csv" if added.rows else ""
    plain(f"{added.folder}: {count(len(added.files), 'file')} taken in{rows}.")
    for what, names in (("electrode", added.electrodes), ("solution", added.solutions)):
        if names:
            plain(f"New {what if len(names) == 1 else what + 's'} in study.toml: {listed(names)}.")
    for heading, lines in (
        ("Left, since the study has them:", [one.words for one in added.left]),
        ("Guessed (marked in study.toml and in the column 'guessed' of runs.csv):", added.guesses),
        ("Only you can know:", added.questions),
    ):
        if lines:
            plain(f"\n{heading}")
        for line in lines:
            plain(f"  {line}")
    plain(f"\nNext: `halfcell check {added.folder}`.")
