"""The studies opened last, kept in the user's own data folder; losing the list loses nothing."""

from __future__ import annotations

import contextlib
import json
from pathlib import Path

from halfcell.app.kept import folder_of_person

_MOST = 8


def _file() -> Path:
    import platformdirs

    return folder_of_person(platformdirs.user_data_dir("halfcell", appauthor=False)) / "recent.json"


def recent() -> list[str]:
    """Folders of studies opened lately that are still there, newest first."""
    try:
        found = json.loads(_file().read_text("utf-8"))
    except (OSError, ValueError):
        return []
    texts = [f for f in found if isinstance(f, str)] if isinstance(found, list) else []
    return [f for f in texts if (Path(f) / "study.toml").is_file()][:_MOST]


def remember(folder: Path) -> None:
    """Put a folder at the head of the list."""
    names = [str(folder), *(f for f in recent() if f != str(folder))][:_MOST]
    with contextlib.suppress(OSError):
        _file().parent.mkdir(parents=True, exist_ok=True)
        _file().write_text(json.dumps(names), "utf-8")
