"""Where the mean of a record changes: exact search with pruning."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from halfcell.results import FloatArray


def mean_changes(values: ArrayLike, *, penalty: float, least: int = 2) -> tuple[int, ...]:
    """Indices at which the mean of ``values`` (n,) changes, in order.

    The segmentation with the smallest sum of squared deviations from the segments' means plus
    ``penalty`` a change; every segment has at least ``least`` samples. Squared deviations come from
    running sums, and all ends still possible are compared at once.

    Raises MethodError for values that are not finite, ``least`` below 1 or a penalty below 0.

    Source: Killick, Fearnhead and Eckley, J. Am. Stat. Assoc. 107 (2012) 1590 (from memory).
    """
    y = _checked(values, penalty, least)
    n = y.size
    if n < 2 * least:
        return ()
    came = _starts(y - y.mean(), penalty, least)
    changes, end = [], n
    while end > 0:
        end = int(came[end])
        changes.append(end)
    return tuple(reversed(changes[:-1]))


def _checked(values: ArrayLike, penalty: float, least: int) -> FloatArray:
    y = np.asarray(values, dtype=np.float64).ravel()
    if not np.all(np.isfinite(y)):
        raise MethodError("A search for changes needs finite values; some are not.")
    if least < 1 or penalty < 0:
        raise MethodError(
            f"A segment has at least 1 sample and a change costs nothing or more; got {least} and {penalty:g}."
        )
    return y


def _starts(y: FloatArray, penalty: float, least: int) -> NDArray[np.int64]:
    """The start of the last segment of the best division of everything before each end."""
    n = y.size
    sums = np.concatenate([[0.0], np.cumsum(y)])
    squares = np.concatenate([[0.0], np.cumsum(y * y)])
    best = np.full(n + 1, np.inf)
    best[0] = -penalty
    came = np.zeros(n + 1, dtype=np.int64)
    starts, until = np.array([0], dtype=np.int64), np.array([n + 1], dtype=np.int64)
    for end in range(least, n + 1):
        if end >= 2 * least:
            starts, until = np.append(starts, end - least), np.append(until, n + 1)
        inside = sums[end] - sums[starts]
        cost = best[starts] + squares[end] - squares[starts] - inside * inside / (end - starts)
        k = int(np.argmin(cost))
        best[end], came[end] = cost[k] + penalty, starts[k]
        # A start worse by more than a change costs cannot win once a segment fits in from here.
        until = np.where(cost > best[end], np.minimum(until, end + least), until)
        starts, until = starts[until > end], until[until > end]
    return came
