"""Read a study folder, or say everything that is wrong with it."""

from __future__ import annotations

import csv
import io
import tomllib
from pathlib import Path

from pydantic import ValidationError

from halfcell.errors import Problem, StudyError
from halfcell.study.adjustments import AdjustmentsFile
from halfcell.study.model import Run, StudyFile
from halfcell.study.study import Study


def open_study(folder: str | Path) -> Study:
    """The study in a folder. Raises StudyError with every problem found."""
    root = Path(folder)
    try:
        file = StudyFile.model_validate(tomllib.loads((root / "study.toml").read_text("utf-8-sig")))
        text = (root / "runs.csv").read_text("utf-8-sig")
        dialect = csv.Sniffer().sniff(text.splitlines()[0], ",;\t")
        rows = csv.DictReader(io.StringIO(text), dialect=dialect)
        runs = tuple(Run.model_validate({k: v for k, v in row.items() if v not in {"", None}}) for row in rows)
        decided = root / "adjustments.toml"
        adjustments = tomllib.loads(decided.read_text("utf-8")) if decided.exists() else {}
        decisions = tuple(AdjustmentsFile.model_validate(adjustments).adjustment)
    except (OSError, ValidationError) as error:
        raise StudyError(str(error), problems=(Problem(file="study.toml", what=str(error)),)) from None
    return Study(folder=root, file=file, runs=runs, adjustments=decisions)
