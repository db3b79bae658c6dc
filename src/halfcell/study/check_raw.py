"""Check that the raw files can be opened as what they are said to be."""

from __future__ import annotations

from collections.abc import Iterator
from fnmatch import fnmatch
from pathlib import PurePosixPath
from typing import Any

from halfcell.errors import HalfcellError, Problem
from halfcell.study.check_files import inside
from halfcell.study.draft import Draft
from halfcell.study.model import Run


def check_raw(draft: Draft) -> Iterator[Problem]:
    """A problem for each raw file that cannot be read, with the keys that tell how to read it."""
    for row in draft.rows:
        run = draft.runs.get(row.number)
        if run is None or inside(run.file, draft.root) is not None or not (draft.root / run.file).is_file():
            continue
        try:
            _open(draft, run)
        except (HalfcellError, OSError) as error:
            said = getattr(error, "problems", ())
            if said:
                yield from said
            else:
                yield Problem(file=run.file, place=f"runs.csv row {row.number}", what=str(error))


def hints_for(draft: Draft, run: Run) -> dict[str, Any]:
    """What [readers] says about the file of a run."""
    readers = draft.file.readers if draft.file else {}
    name = PurePosixPath(run.file).name
    found = next((r for r in readers.values() if fnmatch(name, r.files)), None)
    return found.model_dump() if found else {}


def _open(draft: Draft, run: Run) -> None:
    from halfcell import readers

    if not hasattr(readers, "preview"):
        return
    path = draft.root / run.file
    if run.technique == "micrograph":
        readers.read_image(path, name=run.file, metres_per_pixel=run.scale)
    else:
        readers.preview(path, name=run.file, hints=hints_for(draft, run))
