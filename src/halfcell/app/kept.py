"""Where the app keeps what belongs to a person and not to a study: the way back, by folder."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path


def history_of(folder: Path) -> Path:
    """The file that holds the undo history of a study folder, outside of it."""
    import platformdirs

    root = folder_of_person(platformdirs.user_state_dir("halfcell", appauthor=False))
    return root / "history" / f"{hashlib.sha256(str(folder).encode()).hexdigest()[:24]}.json"


def folder_of_person(usual: str) -> Path:
    """A folder that the system keeps for a person's programs, or the one that HALFCELL_CACHE names."""
    named = os.environ.get("HALFCELL_CACHE", "")
    return Path(named if named and named != "off" else usual)
