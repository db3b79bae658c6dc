"""A change that was made from an older state of the study: refused, with both versions to choose from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from halfcell.errors import StudyError


@dataclass(frozen=True, slots=True, kw_only=True)
class Clash:
    """One value that others changed meanwhile; ``at`` is what the page calls its field."""

    at: str
    what: str
    yours: str
    now: str


class ClashError(StudyError):
    """Others changed the same values meanwhile; nothing was written."""

    clashes: tuple[Clash, ...] = ()


def clash_error(clashes: Sequence[Clash]) -> ClashError:
    """The refusal of a change from an older state, with both versions of each value."""
    told = "; ".join(
        f"{c.what[:1].upper()}{c.what[1:]} was changed to {c.now or 'nothing'}" for c in clashes[:3]
    )
    more = f" and {len(clashes) - 3} more" if len(clashes) > 3 else ""
    error = ClashError(
        f"{told}{more} by another window or by hand meanwhile. Nothing was written; what you have in hand is "
        "still here. Look at both, then keep one."
    )
    error.clashes = tuple(clashes)
    return error
