"""How a run's file is read: from the study's words to the readers' options, and into SI."""

from __future__ import annotations

from collections.abc import Mapping
from fnmatch import fnmatchcase
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from halfcell.study.model import Run
    from halfcell.study.study import Study


def options(study: Study, run: Run) -> Mapping[str, Any]:
    """Options of ``load`` for a run: plain data, because it is part of the cache's key."""
    if run.technique == "micrograph":
        return {"image": True, "scale": run.scale}
    made = study.file.electrodes[run.electrode]
    hints = next((r for r in study.file.readers.values() if fnmatchcase(Path(run.file).name, r.files)), None)
    return {
        "hints": hints.model_dump() if hints else {},
        "negative": study.file.oxidation_current == "negative",
        "area": made.area,
    }


def load(
    folder: Path,
    path: str,
    *,
    image: bool = False,
    scale: float | None = None,
    hints: Mapping[str, Any] | None = None,
    negative: bool = False,
    area: float | None = None,
) -> Any:
    """A Recording with oxidation positive and in amperes, or a Micrograph."""
    from halfcell.readers import read, read_image

    if image:
        return read_image(folder / path, name=path, metres_per_pixel=scale)
    return read(folder / path, name=path, hints=hints or {}).oriented(negative=negative, area=area)
