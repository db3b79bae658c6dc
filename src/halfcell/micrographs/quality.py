"""Is an image fit to be measured: sharp, not burnt out, enough contrast?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.units import percent

if TYPE_CHECKING:
    from numpy.typing import NDArray

_BURNT = 0.02
_DULL = 0.08
_SOFT = 0.18


@dataclass(frozen=True, slots=True, kw_only=True)
class Quality:
    """``saturated`` share of pixels at full scale, ``black`` at zero, ``range`` between the 1st and
    99th percentile, and ``warnings`` in words."""

    saturated: float
    black: float
    range: float
    warnings: tuple[str, ...]


def quality(
    pixels: NDArray[np.float32],
    *,
    blur: float,
    typical_diameter: float,
    noise: float,
    contrast: float,
    bits: int = 8,
) -> Quality:
    """Judge an image by its grey levels and by the blur found at the particles' edges.

    ``blur`` and ``typical_diameter`` in pixels (nan when unknown), ``noise`` and ``contrast`` as shares
    of full scale. The limits (2 % burnt out, edges blurred over 0.18 diameters, contrast 3 times
    the noise) are common practice, no source.
    """
    top = 1.0 - 0.5 / (2 ** min(bits, 16) - 1)
    saturated, black = float((pixels >= top).mean()), float((pixels <= 0).mean())
    low, high = np.quantile(pixels[::4, ::4], [0.01, 0.99])
    said = []
    if saturated > _BURNT:
        said.append(
            f"{percent(saturated, 1)} of the pixels are burnt out (full white): outlines of bright particles lie too far out."
        )
    if black > 0.2:
        said.append(f"{percent(black)} of the pixels are black: the substrate's level is cut off.")
    if high - low < _DULL:
        said.append(f"The grey levels span {percent(high - low)} of the scale only.")
    if np.isfinite(blur) and np.isfinite(typical_diameter) and blur > _SOFT * typical_diameter:
        said.append(
            f"Edges are blurred over {blur:.1f} pixels, {percent(blur / typical_diameter)} of a typical particle: the image is out of focus or magnified too little."
        )
    if np.isfinite(contrast) and 0 < contrast < 3 * noise:
        said.append(
            f"Particles stand {contrast / noise:.1f} times the noise above the substrate; below 3 some are missed."
        )
    return Quality(saturated=saturated, black=black, range=float(high - low), warnings=tuple(said))
