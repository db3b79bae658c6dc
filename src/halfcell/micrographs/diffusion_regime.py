"""From surface to current: do the diffusion layers of the particles overlap?"""

from __future__ import annotations

import math
from dataclasses import dataclass

from halfcell.constants import FARADAY, GAS_CONSTANT, STANDARD_TEMPERATURE
from halfcell.errors import MethodError

PLANAR, ISOLATED, PARTLY, FULLY = "planar particles", "isolated", "partly overlapping", "fully overlapping"
_MEANING = {
    PLANAR: "each particle is large beside its diffusion layer and acts like a small plane: the current follows the metal's area",
    ISOLATED: "each particle has its own, nearly hemispherical diffusion layer: the current follows the number of particles times their radius",
    PARTLY: "neighbouring diffusion layers meet in part: the current is neither that of single particles nor that of one plane",
    FULLY: "the diffusion layers have merged: the surface behaves as one plane of the geometric area",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Regime:
    """``layer`` thickness of the diffusion layer, ``radius`` of a particle, ``half_distance`` of the
    middles of neighbouring particles' shares of the surface (all m); ``category`` and its ``meaning``."""

    layer: float
    radius: float
    half_distance: float
    category: str
    meaning: str


def layer_of_sweep(
    scan_rate: float, diffusion: float, *, electrons: int = 1, temperature: float = STANDARD_TEMPERATURE
) -> float:
    """Thickness (2DRT/(nFv))^½ in m for a scan rate in V/s and a diffusion coefficient in m²/s."""
    if scan_rate <= 0 or diffusion <= 0:
        raise MethodError(
            f"A diffusion layer needs a scan rate and a diffusion coefficient above 0, not {scan_rate!r} V/s and {diffusion!r} m²/s."
        )
    return math.sqrt(2 * diffusion * GAS_CONSTANT * temperature / (electrons * FARADAY * scan_rate))


def layer_of_step(time: float, diffusion: float) -> float:
    """Thickness (2Dt)^½ in m after a time in s."""
    if time <= 0 or diffusion <= 0:
        raise MethodError(
            f"A diffusion layer needs a time and a diffusion coefficient above 0, not {time!r} s and {diffusion!r} m²/s."
        )
    return math.sqrt(2 * diffusion * time)


def diffusion_regime(layer: float, *, radius: float, density: float) -> Regime:
    """Which of the four categories of a partly covered surface applies.

    Parameters
    ----------
    layer : thickness of the diffusion layer, m.
    radius : mean radius of the particles, m.
    density : particles per area, 1/m²; each has a circle of radius (πN)^-½ to itself.

    Notes
    -----
    δ < r: planar diffusion to each particle; else δ below the free half distance R₀ − r: isolated; else δ
    below 2R₀: partly overlapping; beyond that: fully overlapping.

    References
    ----------
    Davies & Compton (2005) J. Electroanal. Chem. 585, 63: categories 1 to 4 and the diffusion domain
    (from memory). The limit 2R₀ of full overlap is common practice, no source.
    """
    if layer <= 0 or radius <= 0 or density <= 0:
        raise MethodError(
            f"A regime needs a layer, radius and density above 0, not {layer!r} m, {radius!r} m and {density!r} 1/m²."
        )
    domain = 1 / math.sqrt(math.pi * density)
    if layer >= 2 * domain:
        category = FULLY
    elif layer >= max(domain - radius, 0.0):
        category = PARTLY
    elif layer < radius:
        category = PLANAR
    else:
        category = ISOLATED
    return Regime(
        layer=layer, radius=radius, half_distance=domain, category=category, meaning=_MEANING[category]
    )
