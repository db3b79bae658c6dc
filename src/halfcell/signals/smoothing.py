"""Smoothing that says what it did to the peak."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from halfcell.errors import MethodError
from halfcell.results import read_only

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Smoothed:
    """A smoothed curve (n,) with the distortion it caused.

    ``height_change`` is the relative change of the height of the largest peak above the mean of
    the ends, ``width_change`` that of its full width at half height and ``shift`` its movement
    in samples, each measured by smoothing a pilot curve, the smoothed curve plus what a second
    smoothing takes off it (Tukey's twicing, from memory), so that noise does not count as signal. It says too little where the window is wider than the peak. ``noise_left`` is the share of white noise that remains.
    """

    values: FloatArray
    window: int
    order: int
    height_change: float
    width_change: float
    shift: float
    noise_left: float

    def plot(self, ax: Any, original: ArrayLike) -> None:
        """The original and the smoothed curve."""
        ax.plot(np.asarray(original), color="0.6", lw=0.8, label="as recorded")
        ax.plot(self.values, color="k", lw=1.2, label=f"smoothed, {self.window} samples")
        ax.legend(frameon=False)


def smooth(values: ArrayLike, *, window: int, order: int = 3) -> Smoothed:
    """Moving polynomial (Savitzky & Golay, Anal. Chem. 1964, 36, 1627), with the distortion it causes.

    Parameters
    ----------
    values : (n,) array, evenly sampled
    window : int, odd number of samples
    order : int

    Raises
    ------
    MethodError
        A window that is even, not above the order, or longer than the record.
    """
    y = np.asarray(values, float)
    if window % 2 == 0 or window <= order or window > y.size:
        raise MethodError(
            f"The smoothing window must be odd, above the order {order} and at most {y.size} samples; it is {window}."
        )
    from scipy.signal import savgol_coeffs, savgol_filter

    once = savgol_filter(y, window, order, mode="interp")
    twice = savgol_filter(once, window, order, mode="interp")
    pilot = 2 * once - twice
    before, after = _shape(pilot), _shape(savgol_filter(pilot, window, order, mode="interp"))
    return Smoothed(
        values=read_only(once),
        window=window,
        order=order,
        height_change=after[0] / before[0] - 1 if before[0] else 0.0,
        width_change=after[1] / before[1] - 1 if before[1] else 0.0,
        shift=after[2] - before[2],
        noise_left=float(np.sqrt(np.sum(savgol_coeffs(window, order) ** 2))),
    )


def _shape(y: FloatArray) -> tuple[float, float, float]:
    ends = max(y.size // 20, 1)
    base = 0.5 * (float(np.mean(y[:ends])) + float(np.mean(y[-ends:])))
    up = y - base
    if -up.min() > up.max():
        up = -up
    top = int(np.argmax(up))
    height = float(up[top])
    half = np.flatnonzero(up >= 0.5 * height)
    left = top
    while left > 0 and up[left - 1] >= 0.5 * height:
        left -= 1
    right = top
    while right < y.size - 1 and up[right + 1] >= 0.5 * height:
        right += 1
    width = float(right - left) if half.size else 0.0
    if left > 0 and right < y.size - 1:
        width += _part(up[left - 1], up[left], height) + _part(up[right + 1], up[right], height)
    place = float(top)
    if 0 < top < y.size - 1:
        a, b, c = up[top - 1], up[top], up[top + 1]
        if a - 2 * b + c != 0:
            place += 0.5 * float(a - c) / float(a - 2 * b + c)
    return height, width, place


def _part(below: float, above: float, height: float) -> float:
    return float((above - 0.5 * height) / (above - below)) if above != below else 0.0
