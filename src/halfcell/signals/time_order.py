"""Time that falls back: rows in the wrong order, or two records in one file."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from halfcell.errors import MethodError


def must_not_fall(time: ArrayLike) -> None:
    """Nothing where ``time`` (n,) s never falls. Raises MethodError that names the first sample where it does.

    Source: common practice, no source.
    """
    t = np.asarray(time, dtype=np.float64)
    back = np.flatnonzero(np.diff(t) < 0)
    if back.size:
        k = int(back[0])
        raise MethodError(
            f"Time falls back at sample {k + 2} ({t[k]:g} s, then {t[k + 1]:g} s), at {back.size} place{'s' * (back.size > 1)} in all: "
            "the rows are out of order, or the file holds more than one record."
        )
