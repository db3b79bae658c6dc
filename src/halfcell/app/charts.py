"""The chart library out of its installed package, and what its script would write into a page."""

from __future__ import annotations

import re
from functools import cache
from importlib.resources import files
from pathlib import Path

_ASKED = re.compile(r'getElementById\("([0-9a-f]{64})"\)')


def script() -> Path:
    """Where the library's script is: nothing is fetched from elsewhere."""
    return Path(str(files("plotly") / "package_data" / "plotly.min.js"))


@cache
def style_ids() -> tuple[str, ...]:
    """Ids of the styles the script writes inline when it finds no element of that id.

    They are for maps, which no page draws; a page that holds the ids is written no inline style,
    so that the strict policy has nothing to refuse.
    """
    return tuple(dict.fromkeys(_ASKED.findall(script().read_text("utf-8"))))
