"""What is said of a file beside its numbers: what was left out, and what stands near the headings."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np

from halfcell.readers.heads import Heads
from halfcell.readers.layout import Layout, cells, kinds
from halfcell.readers.roles import Roles
from halfcell.readers.stack import Stack


def from_start(stacked: Stack) -> Stack:
    """Times of day counted from the first row; left out where they are coarser than the rows."""
    time = stacked.time
    if time is None or not len(time):
        return stacked
    if stacked.potential is not None and np.mean(np.diff(time) == 0) > 0.1:
        said = "the times of day are coarser than the rows and were not used"
        return replace(stacked, time=None, assumed=(*stacked.assumed, said))
    return replace(stacked, time=time - time[0])


def minus_signs(heads: Heads, roles: Roles) -> tuple[str, ...]:
    """Headings that begin with a minus, as some write a current that is plotted upside down."""
    turned = [
        heads.columns[c].text for c in roles.used if re.match(r"[-−–]\s*[A-Za-z]", heads.columns[c].text)
    ]
    return tuple(
        f"the heading {text!r} begins with a minus; the numbers were taken as they stand, and oxidation_current of study.toml says their sign"
        for text in dict.fromkeys(turned)
    )


def grouped_or_decimal(layout: Layout) -> str:
    """A cell such as "1.234" of a column whose other cells have no mark, so that it may mean 1234; else empty."""
    for column in layout.numeric:
        cells_of = [row[column] for row in layout.rows if column < len(row) and row[column]]
        marked = [cell for cell in cells_of if re.fullmatch(r"[-+]?[1-9]\d{0,2}[.,]\d{3}", cell)]
        bare = [cell for cell in cells_of if re.fullmatch(r"[-+]?[1-9]\d{1,2}", cell)]
        rest = [cell for cell in cells_of if re.fullmatch(r"[-+]?\d", cell)]
        if len(marked) > 4 and len(bare) > 4 and len(marked) + len(bare) + len(rest) == len(cells_of):
            return marked[0]
    return ""


def between(layout: Layout, row: int | None) -> tuple[str, ...]:
    """Lines with numbers that stand between the headings and the first row that could be read."""
    below = layout.above[row + 1 :] if row is not None else ()
    lost = [line for line in below if "n" in kinds(cells(line, layout.delimiter), layout.decimal)]
    if not lost:
        return ()
    return (
        f"lines with numbers above the first whole row were left out: {len(lost)}, the first {lost[0].strip()[:60]!r}",
    )


def not_kept(layout: Layout, kept: int) -> tuple[str, ...]:
    """That some further columns were not kept: the file is large, they are many, or there are several records."""
    left = len(layout.numeric) - kept
    return (f"{left} further columns were not kept",) if left > 0 else ()


def labels(roles: Roles, heads: Heads) -> tuple[str, ...]:
    """What stands beside the headings of several records side by side."""
    if len(roles.records) < 2:
        return ()
    return tuple(f"beside the headings stands: {note[:200]!r}" for note in heads.notes)
