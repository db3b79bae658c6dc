"""Further files for a study that exists, understood by what the study knows already."""

from __future__ import annotations

import contextlib
import shutil
import uuid
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from halfcell.errors import StudyError
from halfcell.study.adding_files import INTAKE, Sorted, numbered, placed, sort_files
from halfcell.study.adding_write import Texts, texts
from halfcell.study.atomic import ADDING, sweep, write_together
from halfcell.study.draft import RUNS, STUDY, read_draft
from halfcell.study.edit import StudyEdit
from halfcell.study.edit_readers import in_force
from halfcell.study.intake import Progress, Taken, loose_files, nameable, take
from halfcell.study.load import mistakes
from halfcell.study.lock import locked
from halfcell.study.translate import LACKING
from halfcell.study.words import count, listed

if TYPE_CHECKING:
    from halfcell.study.adding_files import Left
    from halfcell.study.draft import Draft


@dataclass(frozen=True, slots=True, kw_only=True)
class Added:
    """What ``add`` did: the files it took, those it left, what was guessed and what only a person knows."""

    folder: Path
    files: tuple[Taken, ...]
    left: tuple[Left, ...]
    """Files whose content the study has already."""
    guesses: tuple[str, ...]
    questions: tuple[str, ...]
    electrodes: tuple[str, ...]
    """Names of electrodes that are new."""
    solutions: tuple[str, ...]
    """Names of solutions that are new."""
    rows: int
    """Rows added to runs.csv."""


def add(source: str | Path, study: str | Path, *, below: str = "", progress: Progress | None = None) -> Added:
    """Copy a file, or all files of a folder, into a study and give each record a row in runs.csv.

    What the study knows goes before a guess: [readers] whose pattern fits a name, electrodes and
    solutions by the names the person gave them; orders go on behind the highest. What is new gets
    its table in study.toml with "?" where only a person knows. Files whose content the study has
    are left; a file is never written over. ``below`` is a folder below data/ (and images/, notes/)
    for all new files.

    ``progress`` is told the step, how many files are done and how many there are.
    Raises StudyError when ``study`` is none that can be read, when there is nothing new, and when
    the place of a file is taken; nothing is then changed.
    """
    root, folder = Path(source), Path(study)
    draft = _readable(folder)
    if root.resolve() == folder.resolve():
        raise StudyError(
            f"{str(root)!r} is the study itself; give the folder or file to add, such as {str(folder / 'data')!r}."
        )
    if root.is_file():
        found, root = [root], root.parent
        nameable(root, found)
    else:
        found = loose_files(root, folder)
    sweep(folder)
    making = folder / f"{ADDING}{uuid.uuid4().hex[:8]}.part"
    try:
        sorted_ = sort_files(root, found, draft, below)
        _something_new(sorted_)
        taken = numbered(folder, making, _taken(root, sorted_, making, below, folder, progress))
        new = texts(draft, taken)
        _commit(draft.root, making, taken, new)
    except OSError as error:
        raise StudyError(f"{str(folder)!r} cannot be added to ({error.strerror or error}).") from None
    finally:
        shutil.rmtree(making, ignore_errors=True)
    return Added(
        folder=folder,
        files=tuple(taken),
        left=tuple(sorted_.left),
        guesses=new.guesses,
        questions=new.questions,
        electrodes=new.electrodes,
        solutions=new.solutions,
        rows=new.rows,
    )


def _readable(folder: Path) -> Draft:
    """The study as it is. Raises StudyError where it has mistakes other than answers still to be given."""
    draft = read_draft(folder)
    wrong = [p for p in mistakes(draft) if LACKING not in p.what]
    if not (folder / STUDY).is_file():
        raise StudyError(
            f"{str(folder)!r} is not a study (it holds no {STUDY}); `halfcell intake` makes one of loose files."
        )
    if wrong:
        raise StudyError(
            f"{count(len(wrong), 'mistake')} must be mended before files are added; `halfcell check {folder}` shows all. "
            f"The first: {wrong[0]}"
        )
    return draft


def _something_new(found: Sorted) -> None:
    if found.new:
        return
    all_ = "the file" if len(found.left) == 1 else f"all {len(found.left)} files"
    shown = listed((one.words for one in found.left), 2)
    raise StudyError(f"There is nothing new to add, the study has the content of {all_}: {shown}.")


def _taken(
    root: Path, found: Sorted, making: Path, below: str, folder: Path, progress: Progress | None
) -> list[Taken]:
    hints = _hints(folder)
    making.mkdir()
    taken = []
    for number, (path, file) in enumerate(found.new.items()):
        if progress is not None:
            progress("Reading the files", number, len(found.new))
        taken.append(take(root, path, making, file=file, below=below, hints=hints))
    return taken


def _hints(folder: Path) -> Callable[[str], Mapping[str, Any]]:
    edit = StudyEdit(folder)
    return lambda file: in_force(edit, file)[1]


def _commit(root: Path, making: Path, taken: Sequence[Taken], new: Texts) -> None:
    """Move the files to their places, then write what names them; on any failure all is as it was.

    A program killed before the texts stand leaves files without a row, which the check tells and
    the next try takes.
    """
    texts_ = (
        (STUDY, new.toml, new.toml_before),
        (RUNS, new.runs, new.runs_before),
        (INTAKE, new.intake, new.intake_before),
    )
    with locked(root / STUDY), locked(root / RUNS), contextlib.ExitStack() as back:
        placed(root, making, taken, back=back)
        write_together([(root / name, after, before) for name, after, before in texts_ if after != before])
        back.pop_all()
