"""Files that are laid out alike: what was said of how one is read goes for its siblings."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from halfcell.readers import Preview

Signature = tuple[object, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Family:
    """Files of one layout, the one to show first."""

    shown: Preview
    files: tuple[str, ...]

    @property
    def state(self) -> str:
        """ "problem" (cannot be read), "doubt" (something was taken for granted) or "told" by the files themselves."""
        return "problem" if self.shown.problem else "doubt" if self.shown.assumed else "told"


def signature(shown: Preview) -> Signature:
    """What files of one layout have in common: ending, marks, number and names of the columns.

    Numbers in a heading (a scan rate, a date) and the length of the lines above do not matter.
    """
    headings = tuple(re.sub(r"\d+(?:[.,]\d+)?", "#", column.heading) for column in shown.columns)
    found = tuple((c.role, c.unit) for c in shown.columns)
    ending = PurePosixPath(shown.file).suffix.lower()
    if not shown.columns:
        return ending, shown.problem
    return ending, shown.delimiter, shown.decimal, headings, bool(shown.problem), found


def families(previews: Iterable[Preview]) -> tuple[Family, ...]:
    """Files of one layout together: first what cannot be read, then what is in doubt, large families first."""
    found: dict[Signature, list[Preview]] = {}
    for one in previews:
        found.setdefault(signature(one), []).append(one)
    made = [Family(shown=alike[0], files=tuple(p.file for p in alike)) for alike in found.values()]
    order = {"problem": 0, "doubt": 1, "told": 2}
    return tuple(sorted(made, key=lambda f: (order[f.state], -len(f.files))))
