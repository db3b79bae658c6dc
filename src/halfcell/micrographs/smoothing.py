"""An image made ready for measuring: row noise taken off, lightly smoothed, its noise estimated."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

_SMOOTH = 1.0
"""Standard deviation of the smoothing, pixels: small enough to be corrected in every outline."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Smoothed:
    """``pixels`` (rows, columns) float32 after smoothing by a Gaussian of ``smoothing`` pixels; ``raw`` before it.

    ``noise`` is the standard deviation of one raw pixel from its neighbours, ``noise_smoothed``
    that of one smoothed pixel (share of full scale); ``line_noise`` that of whole rows, taken off.
    """

    pixels: NDArray[np.float32]
    raw: NDArray[np.float32]
    smoothing: float
    noise: float
    noise_smoothed: float
    line_noise: float


def smooth(pixels: NDArray[np.float32], *, smoothing: float = _SMOOTH) -> Smoothed:
    """Take off the row noise, smooth, and estimate the noise left.

    Parameters
    ----------
    pixels : (rows, columns) array, share of full scale.
    smoothing : standard deviation of the Gaussian, pixels.

    Notes
    -----
    The noise is taken from second differences along rows, which facets and slopes leave alone
    (the idea of Immerkær 1996, Comput. Vis. Image Underst. 64, 300, from memory), by the median
    so that particles' edges do not count. The rows' own offsets are medians of differences
    between neighbouring rows, summed and stripped of all that is slower than eight rows.
    """
    from scipy.ndimage import gaussian_filter

    offsets, line = _row_offsets(pixels)
    if line > 0:
        pixels = pixels - offsets[:, None]
    smoothed = gaussian_filter(pixels, smoothing, mode="nearest", truncate=3.0)
    step = max(1, pixels.shape[0] // 128)
    sample = pixels[::step]
    second = np.abs(sample[:, :-2] - 2 * sample[:, 1:-1] + sample[:, 2:])
    noise = float(np.median(second)) / 0.6745 / np.sqrt(6)
    fine = smoothed[::step]
    # Differences 4σ apart are those of independent smoothed pixels.
    lag = max(2, round(4 * smoothing))
    apart = np.abs(fine[:, :-lag] - fine[:, lag:])
    # The lowest fifth of the differences: those between two pixels of plain substrate.
    rough = float(np.quantile(apart, 0.2)) / 0.2533 / np.sqrt(2)
    counted = noise / (2 * np.sqrt(np.pi) * smoothing)
    return Smoothed(
        pixels=smoothed, raw=pixels, smoothing=smoothing, noise=float(noise), noise_smoothed=float(np.clip(rough, counted, 8 * counted + 1e-4)), line_noise=line
    )  # fmt: skip


def _row_offsets(pixels: NDArray[np.float32]) -> tuple[NDArray[np.float32], float]:
    """Offset of each row from its neighbours, and their standard deviation (0: not worth taking off)."""
    from scipy.ndimage import gaussian_filter1d

    rows, columns = pixels.shape
    if rows < 32 or columns < 64:
        return np.zeros(rows, dtype=np.float32), 0.0
    sample = pixels[:, :: max(1, columns // 512)]
    change = sample[1:] - sample[:-1]
    steps = np.median(change, axis=1)
    scatter = 1.4826 * float(np.median(np.abs(change - steps[:, None])))
    walk = np.concatenate([[0.0], np.cumsum(steps - steps.mean())])
    offsets = (walk - gaussian_filter1d(walk, 8.0, mode="nearest")).astype(np.float32)
    line = float(offsets.std())
    if line < 2.5 * 1.2533 * scatter / np.sqrt(sample.shape[1]) or line > 0.1:
        return np.zeros(rows, dtype=np.float32), 0.0
    return offsets, line
