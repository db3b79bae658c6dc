"""Everything a report consists of, written into the study's ``report`` folder."""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from halfcell.errors import HalfcellError, Problem
from halfcell.report.blocks import FIGURES
from halfcell.report.html import html_report
from halfcell.report.methods_text import methods_text
from halfcell.report.pdf import pdf_report
from halfcell.report.spreadsheet import spreadsheet

if TYPE_CHECKING:
    from halfcell.cache import Cache
    from halfcell.pipeline.outcome import Analysis

__all__ = ["Written", "write_report"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """What was written: the folder, the page to open, all files, and what could not be done."""

    folder: Path
    page: Path
    files: tuple[Path, ...]
    problems: tuple[Problem, ...] = ()


def write_report(
    analysis: Analysis,
    folder: str | Path | None = None,
    parts: Sequence[str] | None = None,
    *,
    figures: int = FIGURES,
    cores: int | None = None,
    cache: Cache | None = None,
    progress: Callable[[str, int, int], None] | None = None,
) -> Written:
    """Write report.html, report.pdf, findings.csv, findings.json, findings.xlsx and methods.txt.

    ``folder`` is the study's ``report`` by default; other files in it are left alone. Each file is
    written beside and moved into place, so that a reader never sees half of one. Raises ValueError
    for a part that does not exist, HalfcellError for a folder that cannot be written to.
    """
    target = target_folder(analysis, folder)
    page = html_report(analysis, parts=parts, figures=figures, cores=cores, cache=cache, progress=progress)
    contents = {
        "report.html": page.html.encode("utf-8"),
        "report.pdf": pdf_report(page.said, page.drawn),
        "findings.csv": analysis.findings.csv().replace("\r\n", "\n").encode("utf-8"),
        "findings.json": analysis.findings.json().encode("utf-8"),
        "findings.xlsx": spreadsheet(analysis),
        "methods.txt": methods_text(analysis).encode("utf-8"),
    }
    for name, data in contents.items():
        put(target / name, data)
    files = tuple(target / name for name in contents)
    return Written(folder=target, page=files[0], files=files, problems=page.problems)


def target_folder(analysis: Analysis, folder: str | Path | None) -> Path:
    """The folder to write to, made if need be; the study's own ``report`` by default, unless that is a link."""
    target = Path(folder) if folder is not None else analysis.study.folder / "report"
    if folder is None and target.is_symlink():
        raise HalfcellError(
            f"{target} is a link; a study folder may not reach outside itself. Remove the link, or name a folder with --folder."
        )
    try:
        target.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise HalfcellError(
            f"{target} cannot be made ({error.strerror}). Name another folder with --folder."
        ) from None
    return target


def put(path: Path, data: bytes) -> None:
    """Write a file beside its place and move it there. Raises HalfcellError where that fails."""
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    except OSError as error:
        raise HalfcellError(f"{path} cannot be written ({error.strerror}).") from None
    try:
        with os.fdopen(handle, "wb") as out:
            out.write(data)
        Path(name).chmod(0o644)
        Path(name).replace(path)
    except OSError as error:
        with contextlib.suppress(OSError):
            Path(name).unlink()
        raise HalfcellError(
            f"{path} cannot be written ({error.strerror}); is it open in another program?"
        ) from None
