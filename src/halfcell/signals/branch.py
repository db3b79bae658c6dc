"""One branch of a record on a steadily rising axis: averaged where it repeats, interpolated, binned."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import read_only

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Branch:
    """Current against potential in scan order: ``potential`` (n,) V strictly monotonic, ``current`` (n,) A.

    ``direction`` is +1 where the scan goes upwards, -1 downwards.
    """

    potential: FloatArray
    current: FloatArray
    direction: int


def branch_of(potential: ArrayLike, current: ArrayLike, *, direction: int = 0) -> Branch:
    """A branch, of potential and current (n,) arrays (V, A), whose potential is strictly monotonic.

    Samples that are not numbers are left out; repeated potentials (a staircase) are averaged;
    a potential read back with noise is replaced by its running order. ``direction`` 0 is found.
    Raises MethodError when fewer than 8 samples remain.
    """
    e, i = np.asarray(potential, float), np.asarray(current, float)
    good = np.isfinite(e) & np.isfinite(i)
    e, i = e[good], i[good]
    if e.size < 8:
        raise MethodError(
            f"A branch needs at least 8 samples with potential and current; there are {e.size}."
        )
    direction = direction or (1 if e[-1] >= e[0] else -1)
    steps = np.diff(e) * direction
    if not np.all(steps > 0):
        if np.any(steps < 0):
            order = np.argsort(e * direction, kind="stable")
            e, i = e[order], i[order]
        change = np.concatenate(([True], np.diff(e) != 0))
        group = np.cumsum(change) - 1
        size = np.bincount(group)
        e, i = e[change], np.bincount(group, weights=i) / size
    if e.size < 8:
        raise MethodError(f"A branch needs at least 8 different potentials; there are {e.size}.")
    return Branch(potential=read_only(e), current=read_only(i), direction=direction)


def interpolated(branch: Branch, potential: ArrayLike) -> FloatArray:
    """The branch's current at other potentials, linear between samples, nan outside its range."""
    e = np.asarray(potential, float)
    x, y = (
        (branch.potential, branch.current)
        if branch.direction > 0
        else (branch.potential[::-1], branch.current[::-1])
    )
    return read_only(np.interp(e, x, y, left=np.nan, right=np.nan))


def binned(x: ArrayLike, y: ArrayLike, bins: int) -> tuple[FloatArray, FloatArray, int]:
    """Means over ``bins`` blocks of equally many successive samples, and the samples a block.

    The samples left over at the end are dropped when they are fewer than a block.
    """
    x, y = np.asarray(x, float), np.asarray(y, float)
    block = max(x.size // bins, 1)
    n = x.size // block
    cut = n * block
    return read_only(x[:cut].reshape(n, block).mean(1)), read_only(y[:cut].reshape(n, block).mean(1)), block
