"""Where a stirred current steps to another level."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import read_only
from halfcell.signals.change_points import mean_changes
from halfcell.statistics.autocorrelation import steady_mean

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray

_BLOCKS = 1500
"""The record is searched as about this many block medians, which also take out spikes."""


def find_changes(
    time: ArrayLike, current: ArrayLike, *, least_spacing: float = 10.0, strict: float = 6.0
) -> FloatArray:
    """Times (k,) s at which ``current`` (n,) A at ``time`` (n,) s steps to another level.

    Block medians are searched by PELT for changes of the mean; then, of neighbouring changes, those
    are kept whose two sides differ by more than ``strict`` standard uncertainties (correlated noise
    allowed for) and by more than a tenth of the usual step. Steps are at least ``least_spacing`` s apart.

    Raises MethodError for fewer than 40 samples.

    Source: Killick, Fearnhead and Eckley, J. Am. Stat. Assoc. 107 (2012) 1590 (from memory).
    """
    t, i = np.asarray(time, dtype=np.float64), np.asarray(current, dtype=np.float64)
    if t.size < 40:
        raise MethodError(f"A search for additions needs at least 40 samples; there are {t.size}.")
    size = max(1, t.size // _BLOCKS)
    spacing = float(t[-1] - t[0]) / (t.size - 1)
    size = min(max(size, round(0.8 / spacing)), max(1, t.size // 40))
    m = t.size // size
    tb = t[: m * size].reshape(m, size)[:, 0]
    ib = np.median(i[: m * size].reshape(m, size), axis=1)
    ib = _despiked(ib)
    noise = _noise(ib)
    if noise == 0:
        return read_only([])
    least = max(2, int(least_spacing / (spacing * size) / 2))
    cuts = list(mean_changes(ib / noise, penalty=25.0 * np.log(m), least=least))
    return read_only(_refined(tb, ib, cuts, least_spacing, strict))


def _despiked(values: FloatArray) -> FloatArray:
    from scipy.ndimage import median_filter

    return np.asarray(median_filter(values, size=5, mode="nearest"), dtype=np.float64)


def _noise(values: FloatArray) -> float:
    """Scatter of slow noise as well: differences over several blocks, robustly."""
    widths = [1, 3, 6]
    each = [
        1.4826 * float(np.median(np.abs(values[w:] - values[:-w]))) / np.sqrt(2)
        for w in widths
        if values.size > 4 * w
    ]
    return max(each) if each else 0.0


def _refined(t: FloatArray, i: FloatArray, cuts: list[int], least: float, strict: float) -> list[float]:
    groups: list[int] = []
    for cut in sorted(cuts, key=lambda c: -_strength(t, i, c, least)):
        if all(abs(t[cut] - t[other]) >= least for other in groups):
            groups.append(cut)
    groups.sort()
    while groups:
        edges = [0, *groups, t.size]
        scores = [_contrast(t, i, edges[k], edges[k + 1], edges[k + 2]) for k in range(len(groups))]
        usual = float(np.median([abs(rise) for rise, _ in scores]))
        weak = [
            (abs(rise) / max(u, 1e-300), k)
            for k, (rise, u) in enumerate(scores)
            if abs(rise) < strict * u or abs(rise) < 0.1 * usual
        ]
        if not weak:
            break
        groups.pop(min(weak)[1])
    return [float(_onset(t, i, g, least)) for g in groups]


def _strength(t: FloatArray, i: FloatArray, cut: int, least: float) -> float:
    """Size of the change close to a cut, so that of two neighbours the true one is kept."""
    before = (t >= t[cut] - least / 2) & (t < t[cut])
    after = (t > t[cut]) & (t <= t[cut] + least / 2)
    if not before.any() or not after.any():
        return 0.0
    return abs(float(np.median(i[after]) - np.median(i[before])))


def _contrast(t: FloatArray, i: FloatArray, a: int, b: int, c: int) -> tuple[float, float]:
    """Difference of the levels before and after the cut ``b`` and its standard uncertainty."""
    before, after = slice(a, b), slice(b + (c - b) // 3, c)
    if b - a < 8 or c - (b + (c - b) // 3) < 8:
        rise = float(np.median(i[after]) - np.median(i[before]))
        return rise, abs(rise) / 10
    one, two = steady_mean(t[before], i[before]), steady_mean(t[after], i[after])
    return two.mean.value - one.mean.value, float(np.hypot(one.mean.u, two.mean.u))


def _onset(t: FloatArray, i: FloatArray, cut: int, least: float) -> float:
    """The start of the rise: the last block before the cut that still lies near the old level."""
    before = (t < t[cut]) & (t >= t[cut] - least)
    after = (t >= t[cut]) & (t < t[cut] + least)
    if not before.any() or not after.any():
        return float(t[cut])
    old, new = float(np.median(i[before])), float(np.median(i[after]))
    near = [
        k for k in range(max(0, cut - int(before.sum())), cut + 1) if abs(i[k] - old) < 0.15 * abs(new - old)
    ]
    return float(t[near[-1]]) if near else float(t[cut])
