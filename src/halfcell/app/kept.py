"""Where the app keeps what belongs to a person and not to a study: the way back, by folder."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path


def history_of(folder: Path) -> Path:
    """The file that holds the undo history of a study folder, outside of it."""
    return _root() / "history" / f"{hashlib.sha256(str(folder).encode()).hexdigest()[:24]}.json"


def _root() -> Path:
    named = os.environ.get("HALFCELL_CACHE", "")
    if named and named != "off":
        return Path(named)
    import platformdirs

    return Path(platformdirs.user_state_dir("halfcell", appauthor=False))
