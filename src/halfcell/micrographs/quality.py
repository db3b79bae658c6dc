"""Is an image fit to be measured: sharp, not burnt out, enough contrast, and of round bright particles?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfcell.units import percent

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from halfcell.results import FloatArray

_BURNT = 0.02
_DULL = 0.08
_SOFT = 0.18
_LONG = 1.22
_LONGEST = 1.5
_BRIGHTER = 1.6
_SMALL = 8.0
_CLUMPED = 0.3


@dataclass(frozen=True, slots=True, kw_only=True)
class Quality:
    """``saturated`` share of pixels at full scale, ``black`` at zero, ``range`` between the 1st and
    99th percentile, and ``warnings`` in words; ``doubts`` are those of them that put the outlines themselves
    in question, so that a person must look at them before a number is used."""

    saturated: float
    black: float
    range: float
    warnings: tuple[str, ...]
    doubts: tuple[str, ...] = ()


def quality(
    pixels: NDArray[np.float32],
    *,
    blur: float,
    typical_diameter: float,
    noise: float,
    contrast: float,
    bits: int = 8,
    elongation: ArrayLike = (),
    contrasts: ArrayLike = (),
    agglomerated: float = 0.0,
) -> Quality:
    """Judge an image by its grey levels, by the blur found at the particles' edges and by what was outlined.

    ``blur`` and ``typical_diameter`` in pixels (nan when unknown), ``noise`` and ``contrast`` as shares
    of full scale; ``elongation`` and ``contrasts`` (n,) of the particles, ``agglomerated`` the share of the
    metal's area in agglomerates. The limits (2 % burnt out, edges blurred over 0.18 diameters, contrast 3 times
    the noise) are common practice, no source; those of the doubts lie between what images of round particles
    and of irregular fragments give (synthetic ones of all kinds reach a median elongation of 1.2 and a 98 %
    contrast of 1.5 medians; fragments on textured polymers 1.3 to 1.4 and up to 2).
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
    doubts = _doubts(
        np.asarray(elongation, float), np.asarray(contrasts, float), typical_diameter, agglomerated
    )
    return Quality(
        saturated=saturated, black=black, range=float(high - low), warnings=(*said, *doubts), doubts=doubts
    )


def _doubts(
    elongation: FloatArray, contrasts: FloatArray, typical_diameter: float, agglomerated: float
) -> tuple[str, ...]:
    """Why the outlines of an image may not be those of particles."""
    out = []
    if len(elongation) >= 8:
        middle, long = (float(q) for q in np.quantile(elongation, [0.5, 0.9]))
        if middle > _LONG or long > _LONGEST:
            out.append(
                f"The outlines are not round (half are longer than {middle:.2f} times their width, a tenth longer than {long:.2f} times): fragments, "
                "rims or the substrate's texture rather than the round bright particles looked for. Look at the outlines, and exclude or mask what is "
                "no metal, before any of the numbers is used."
            )
    if len(contrasts) >= 8 and np.isfinite(contrasts).all():
        middle, high = (float(q) for q in np.quantile(contrasts, [0.5, 0.98]))
        if typical_diameter < _SMALL and high > _BRIGHTER * middle:
            out.append(
                f"Half of the outlines are under {typical_diameter:.1f} pixels wide while some objects stand {high / middle:.1f} times as far above the substrate: "
                "the small faint ones may be its texture. Compare with an image of the bare substrate; smallest in [analysis.micrographs] leaves them out."
            )
    if agglomerated > _CLUMPED:
        out.append(
            f"{percent(agglomerated)} of the metal's area lies in agglomerates: the sizes and counts are those of the rest only. Look at the outlines before they are used."
        )
    return tuple(out)
