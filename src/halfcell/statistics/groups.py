"""What is said of one group of values: how many, mean, scatter, interval of the mean."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import Measured, read_only

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupSummary:
    """One group: ``mean`` with standard uncertainty s/√n and n − 1 degrees of freedom."""

    n: int
    mean: Measured
    s: float
    """Standard deviation with n − 1; nan for a single value."""


def summarise(values: ArrayLike) -> GroupSummary:
    """Number, mean and scatter of a group, an (n,) array. Raises MethodError for an empty or non-finite one.

    >>> summarise([1.0, 2.0, 3.0]).mean.value
    2.0
    """
    (x,) = as_groups([values], least=1)
    n = len(x)
    if n == 1:
        why = "one value: its scatter is unknown"
        return GroupSummary(n=1, mean=Measured(value=float(x[0]), why=why), s=math.nan)
    s = float(np.std(x, ddof=1))
    return GroupSummary(n=n, mean=Measured(value=float(np.mean(x)), u=s / math.sqrt(n), df=n - 1), s=s)


def as_groups(groups: Sequence[ArrayLike], *, least: int = 2, few: int = 1) -> tuple[FloatArray, ...]:
    """Groups as read-only arrays of finite numbers.

    Raises MethodError for fewer than ``few`` groups, for a group of fewer than ``least`` values
    and for values that are not finite; the text says which group and what was seen.
    """
    if len(groups) < few:
        raise MethodError(f"{few} or more groups are needed; there is {len(groups)}.")
    arrays = []
    for i, group in enumerate(groups):
        x = read_only(group)
        if x.ndim != 1 or len(x) < least:
            raise MethodError(f"Group {i + 1} has {x.size} values; {least} or more are needed.")
        if not np.all(np.isfinite(x)):
            raise MethodError(
                f"Group {i + 1} holds {np.count_nonzero(~np.isfinite(x))} values that are no numbers."
            )
        arrays.append(x)
    return tuple(arrays)


def moments(groups: Sequence[FloatArray]) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Sizes, means and variances (n − 1) of groups, each an array over the groups."""
    n = np.array([len(g) for g in groups], dtype=np.float64)
    means = np.array([np.mean(g) for g in groups])
    variances = np.array([np.var(g, ddof=1) for g in groups])
    return n, means, variances


def need_scatter(variances: FloatArray) -> None:
    """Raises MethodError when no group has any scatter, because nothing can then be tested."""
    if not np.any(variances > 0):
        raise MethodError(
            "No group has any scatter (all values in each are equal), so nothing can be tested."
        )
