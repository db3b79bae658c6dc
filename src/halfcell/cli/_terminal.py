"""What the verbs share: opening and analysing with a progress bar, and telling errors."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from rich.console import Console

    from halfcell.errors import HalfcellError, Problem
    from halfcell.pipeline import Analysis

Folder = Annotated[Path, typer.Argument(help="The study folder.", metavar="DIR")]
Cores = Annotated[int | None, typer.Option(help="Cores to use; all of them by default.", min=1)]


def console(*, error: bool = False) -> Console:
    """Where people read: colours only on a terminal."""
    import os

    from rich.console import Console

    # In a pipe there is no width to fit into; 80 columns would fold every row.
    fits = sys.stdout.isatty() or "COLUMNS" in os.environ
    return Console(stderr=error, highlight=False, width=None if fits else 160)


def plain(text: str = "", *, error: bool = False) -> None:
    """A line without markup; what a file holds never steers the terminal."""
    from halfcell.study.words import printable

    print(printable(text), file=sys.stderr if error else sys.stdout)


def analyzed(folder: Path, cores: int | None = None) -> Analysis:
    """The study of a folder, analysed, with a progress bar on a terminal and silence in a pipe."""
    from halfcell.pipeline import analyze

    with progress() as moved:
        return analyze(folder, cores=cores, progress=moved)


@contextlib.contextmanager
def progress() -> Iterator[Callable[[str, int, int], None] | None]:
    """A ``progress(what, done, of)`` that draws a bar on a terminal's standard error, else None."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn())
    with Progress(*columns, console=console(error=True), transient=True) as bar:
        tasks: dict[str, Any] = {}

        def moved(what: str, done: int, of: int) -> None:
            if what not in tasks:
                for earlier in tasks.values():
                    bar.update(earlier, visible=False)
                tasks[what] = bar.add_task(what, total=max(of, 1))
            bar.update(tasks[what], completed=done, total=max(of, 1))

        yield moved


def tell(error: HalfcellError) -> None:
    """An error on standard error: every problem it carries, else its text."""
    if not error.problems:
        plain(str(error), error=True)
        return
    for problem in error.problems:
        plain(str(problem), error=True)
    count = len(error.problems)
    plain(f"{count} problem{'s' if count != 1 else ''}.", error=True)


def tell_problems(problems: tuple[Problem, ...]) -> None:
    """What the analysis could not do, on standard error."""
    for problem in problems:
        plain(f"{problem.severity}: {problem}", error=True)
